"""What one bell is forecast to be, structure by structure, and all of them as one. Not how structures were learned."""
