"""Whether a batch is normal, and what moved when it is not: facts of a book and its model, never their wording.

In here: batches against the forecast made before they were learned, charts, signatures of faults, wear, gauge studies,
and the shop at a glance. Not in here: what a fault is called or what to do about it in words (`reporting`).
"""
