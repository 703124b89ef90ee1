"""Why this choice, why not another part, what would change it."""
