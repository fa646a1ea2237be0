"""What the pages of the review and of the screen in the bay share: guard, templates, serving."""
