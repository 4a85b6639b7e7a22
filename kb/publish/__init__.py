"""The site: a MkDocs plugin and its pages."""
