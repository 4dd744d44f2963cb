"""Results to plotly figures; knows no widgets."""
