"""An axisymmetric thin shell let go: linear and large-rotation release, and its bounds. Not how stress got there."""
