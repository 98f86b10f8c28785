"""Replays step tables against a machine."""
