"""Limits in files: CSV, XLSX and JSON in, with every fault by row and column; the same files and templates out."""
