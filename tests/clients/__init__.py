"""The worked integrations, built from the contract and run against the real service."""
