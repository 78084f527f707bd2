"""Files: TOML with places, whole-file writes, locks, text made safe."""
