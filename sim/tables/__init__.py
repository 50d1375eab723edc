"""Tables that terminal, CSV and page share."""
