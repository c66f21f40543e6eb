"""The command line: each command is an option parser around one library call.

Data goes to stdout, progress and messages to stderr.  Exit codes: 0 done, 2 bad
use, 3 input refused, 4 store busy or damaged.  No arithmetic lives here.

Modules of commands import the library inside the command, so that help and short
commands do not wait for what they do not use.
"""
