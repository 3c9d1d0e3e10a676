"""The crate: one archive that holds a build with the hash of each file and the result of its checks.

A crate is a zip file that any program can look into. It opens only whole and unchanged, and never outside the folder
named for it.
"""
