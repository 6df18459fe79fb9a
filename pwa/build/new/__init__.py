"""`layby new`: the files of a new cause, measure, joint or record kind, to be filled in."""
