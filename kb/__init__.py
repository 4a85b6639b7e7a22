"""sizebook: can size formats in plain text, judged by the physics of their making."""
