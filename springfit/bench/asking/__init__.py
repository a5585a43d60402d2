"""What this draft or that change of process would give: answered at once from what is known, worked out
beside. Not the report, which is `correct`'s."""
