"""The one-shot commands: verb, binder, what. Answers on standard output, narration on standard
error."""
