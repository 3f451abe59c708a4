"""Findings: trees, slopes, natural look, cautions."""
