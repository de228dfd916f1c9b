"""Floor and underframe as flat pieces with holes, placed in space."""
