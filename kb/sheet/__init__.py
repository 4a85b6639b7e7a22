"""Setup sheets: what they say (content), what they are called (code), and their two faces, paper and page."""
