"""Mails that hold tracks and sheet."""
