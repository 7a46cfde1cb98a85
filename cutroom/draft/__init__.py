"""Blocks drafted from body measurements, each construction line kept and named."""
