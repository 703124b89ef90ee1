"""Findings in the forms that CI reads: JUnit XML, SARIF and workflow commands."""
