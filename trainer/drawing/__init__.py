"""What is drawn: patterns, tracks and flown sessions as SVG, to scale. Values in, text out."""
