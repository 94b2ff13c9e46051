"""Machines, positions, assemblies, parts and groups of them, each with its life."""
