"""The page at the bench as tests meet it: a server, a browser that taps, a tablet without a screen."""
