"""Small changes to the code that hurts when it is wrong, and whether the tests of its room notice them."""
