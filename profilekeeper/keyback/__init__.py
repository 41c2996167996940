"""In which order stored values go back into a control, and how a readback is judged."""
