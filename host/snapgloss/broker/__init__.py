"""Live readings to an MQTT broker, beside the record: never in its way."""
