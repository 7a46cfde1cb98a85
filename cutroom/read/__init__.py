"""Files of strangers turned into model values: every fault found, with its file and place."""
