"""The demo practice: invented cases, shipped as files beside this module; README.md tells their story."""
