"""The one place that runs the chain: from a job file to proven files."""
