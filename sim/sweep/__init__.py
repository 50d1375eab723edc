"""Thousands of designs: plans, blocks, folders, workers."""
