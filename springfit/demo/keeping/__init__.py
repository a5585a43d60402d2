"""The invented shop's records: hands, gauges, habits and the rows written down. Not what truly happened."""
