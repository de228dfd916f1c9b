"""The pages: a shop to be worked at in a browser, and the same as JSON for other programs."""
