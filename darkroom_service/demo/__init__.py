"""One invented school darkroom with a term of history, made through the commands as its people would have."""
