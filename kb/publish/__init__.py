"""What goes out: reference pages and the site, written from the same declarations that judge the book."""
