"""From one format to another on a line: what differs, who does what when, how long the line is down."""
