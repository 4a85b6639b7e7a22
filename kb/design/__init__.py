"""A new size from what the can must do, and the lightest format within the rules with the price of each."""
