"""The cloth of the screen as a surface: heights of its folds over the nominal plane, their outline, and where they come from."""
