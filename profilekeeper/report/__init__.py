"""Results drawn and laid out: sheets, drawings, charts."""
