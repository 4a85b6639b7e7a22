"""Documents written in each output format: text, JSON, SARIF, JUnit, Markdown, annotations."""
