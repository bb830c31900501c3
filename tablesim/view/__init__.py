"""The window: a document, what is computed of it, and how it is shown and changed by hand."""
