"""Pages and pictures of a result."""
