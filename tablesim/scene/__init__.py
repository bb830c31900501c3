"""What to show, as shapes in table metres: no screen, no file format."""
