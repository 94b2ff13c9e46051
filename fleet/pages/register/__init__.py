"""Machines, positions, assemblies, parts, groups of them, each with its life; a stop's sheet; finding."""
