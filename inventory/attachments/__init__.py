"""Photos of trees: opened by their content, encoded anew, kept by digest, recorded as append-only facts."""
