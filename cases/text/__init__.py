"""Text files found, opened and read as TOML, with their defects and near matches."""
