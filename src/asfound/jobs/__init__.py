"""Floor 4: one verb a file; frozen request in, frozen result out."""
