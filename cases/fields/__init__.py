"""Values of fields: units, control points over the compass, columns of CSV files, allowed names."""
