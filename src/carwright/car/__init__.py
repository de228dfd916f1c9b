"""The car file and the shelf: models, validation, reading, writing, the questions asked."""
