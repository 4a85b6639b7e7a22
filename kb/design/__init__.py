"""FreeSizes found from what a can must do: the lightest format within the rules, and what each rule costs."""
