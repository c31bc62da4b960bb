"""Handover and period reports as PDF, and their charts."""
