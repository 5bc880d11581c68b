"""The laws of judgement, one property a test."""
