"""The build book: what is cut, drilled and glued, in order, on pages to hand out."""
