"""What several tests share, none of it a test: invented records, the page at the bench, programs run by hand."""
