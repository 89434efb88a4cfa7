"""The invented fleet and the camera and footage simulators; used by the demo and by tests."""
