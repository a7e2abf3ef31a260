"""Lists that other people keep: people and cards from CSV and XLSX."""
