"""The screens: one module per place of the app."""
