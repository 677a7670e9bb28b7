"""The demo practice: three invented cases, shipped as files beside this module; README.md tells their story."""
