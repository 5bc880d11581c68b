"""The HTTP API: strict documents in, problems or recorded verdicts out, one contract written from the same shapes."""
