"""Reading logs as they come, one dialect problem a file.

``source`` (is it text at all), ``encoding``, ``delimiter``, ``cells`` (numbers and words for missing), ``pattern``
(what a row looks like), ``headers`` and ``layout`` (preamble, headers, data, remarks, footer), ``longform``, ``words``,
``names``, ``settle`` and ``quantities`` (which column is what, in which unit), ``clock``, ``order`` (rows, segments,
gaps), ``sensors`` (dead ones), ``particulars``, ``memory`` (what the user confirmed), ``fast`` (clean big files),
``reading`` and ``assemble`` (all of it in order), ``report``.

Two general libraries were tried and are not used. A dialect sniffer (clevercsv) found the separator and the quote sign
of all six test logs, but took 30 to 100 ms a file, several times the whole reading here, and knows nothing of headers,
units rows, restarts or footers, which are the larger part. A character-set guesser (charset-normalizer) was right on
Unicode, where no guess is needed, and wrong on each of three short German headers in one-byte pages.
"""
