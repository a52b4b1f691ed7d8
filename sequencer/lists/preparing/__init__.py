"""What a sequence asks of its teachers beside teaching: what to prepare, book, upload and mark by when, and hard weeks."""
