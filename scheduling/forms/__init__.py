"""Forms. Every refusal stands at its field and nothing that was typed is lost."""
