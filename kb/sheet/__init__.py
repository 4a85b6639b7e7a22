"""Setup sheets: what they say (content), their names (code), and two output formats, paper and page."""
