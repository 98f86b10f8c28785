"""Benchmarks: how long things take, and how much memory; nothing here is a test."""
