"""Words of no trade: what every app may use and what knows none of them."""
