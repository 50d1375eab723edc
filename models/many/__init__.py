"""One number for each of many designs, so that one train is built for all of them."""
