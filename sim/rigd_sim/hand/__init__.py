"""A simulated operator: lays and slides film in the scene, and presses the trigger over HTTP as a phone would."""
