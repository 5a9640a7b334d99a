"""Every text of some hundred jobs, kept in one file, so that two trees can be compared to the letter.

Use it for a change that is to move no output: run `python -m tests.frozen_jobs --write FILE` in the tree before it,
`python -m tests.frozen_jobs --against FILE` from the tree after it. The file is a zip archive with a folder for each
job, and in it the part and the shop file too: the tree after is given those very files, whatever it would draw itself.
"""
