class SharesWorld:
    pass
