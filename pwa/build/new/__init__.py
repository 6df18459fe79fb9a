"""`layby new`: the files of a new cause, measure or joint, to be filled in."""
