"""Signed regimen in, days and feed out. Pure: no clock, no database, no network."""
