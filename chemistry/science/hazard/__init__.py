"""What a liquid or powder of known composition can still do, at the strength it is handled."""
