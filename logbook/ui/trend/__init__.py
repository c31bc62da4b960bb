"""The Trend screen: any points over any stretch of time."""
