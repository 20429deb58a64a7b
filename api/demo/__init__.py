"""The invented demo shop: its files, its two years of work, and one job from request to closed job."""
