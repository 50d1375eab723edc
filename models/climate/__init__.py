"""Temperature and humidity over a year, and how wood follows them."""
