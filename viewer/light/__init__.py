"""Light in the room: what lenses and screens mirror, the sun, and what shines on what."""
