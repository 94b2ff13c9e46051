"""Machines, positions, assemblies, parts and groups of them, each with its life; the sheet of a stop; finding."""
