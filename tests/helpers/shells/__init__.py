"""The shell under loads, released by large rotations and as a solid: yardsticks, nothing that the package uses."""
