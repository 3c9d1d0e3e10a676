"""Findings: every judgement the tool makes, each with its working."""
