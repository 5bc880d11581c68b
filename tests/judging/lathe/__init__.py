"""The check at the lathe: scratches, the mount, hub and rotor, clean-up planes, the form of a drum."""
