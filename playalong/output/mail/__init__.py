"""The mail: what a pupil gets of a folder of tracks, in mails that fit, as drafts or sent.

contents (which files) -> plan (which mail holds what) -> letter (the words) -> message (the
bytes) -> send (a server), with zip and address beside them.
"""
