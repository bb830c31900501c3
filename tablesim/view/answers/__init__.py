"""Questions answered beside the window; no screen."""
