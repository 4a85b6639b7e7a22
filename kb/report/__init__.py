"""What a check found, told: lines of text, JSON, SARIF, Markdown, JUnit, and the table of a route."""
