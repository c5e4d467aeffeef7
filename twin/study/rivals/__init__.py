"""Other ways to simulate the same lines, kept so that the benchmark can run them beside ours."""
