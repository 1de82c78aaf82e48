"""Random texts: through the parser, and through whole inspections."""
