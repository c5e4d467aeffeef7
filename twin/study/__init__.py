"""Many runs of a line: replicated, compared, priced, and asked until the answer is precise enough."""
