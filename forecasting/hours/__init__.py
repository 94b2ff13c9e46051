"""Machine hours: meter readings in, the hours of any machine on any day out."""
