"""What is read out of scheduling as a whole and handed on: the audit, as rows, text and sheets."""
