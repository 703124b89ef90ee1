"""What the test track teaches: test logs and ride verdicts."""
