"""What the panel and the pages over the window show, of controls."""
