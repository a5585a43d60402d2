"""What to do about the steel: facts for one target, never their wording. Not how a bell is forecast."""
