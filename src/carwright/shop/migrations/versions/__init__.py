"""The versions, oldest first; a script that has been published never changes."""
