"""Cars placed on a path of track."""
