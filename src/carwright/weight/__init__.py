"""Mass, ballast and balance of a car."""
