"""Files people write: strict YAML with positions, records checked against it, and writing that leaves no half file."""
