"""Every text of some hundred jobs, kept in one file, so that two trees can be held against each other to the letter.

A change that is to move no output is tried so: `python -m tests.frozen_jobs --write FILE` from the tree before it,
`python -m tests.frozen_jobs --against FILE` from the tree after it. The file is a zip archive with a folder for each
job, and in it the part and the shop file too: the tree after is given those very files, whatever it would draw itself.
"""
