"""The bench in the browser: what is drawn of a note, who may ask for it, and the page."""
