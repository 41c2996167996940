"""Text in, text out: one module per file format."""
