"""Checks of catalogs and recorded decisions: rules, findings, and their forms for CI."""
