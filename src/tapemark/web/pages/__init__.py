"""The pages of the app: every module here named ``*_page`` is one.

It has a list of routes, ``ROUTES``. ``LARGE_BODIES``, if it has that, maps a path, or the beginning
of paths with a slash at its end, to the most bytes that may be sent there. ``WORK``, if it has
that, maps names to tasks that its windows may begin over the socket ``/work``. All of it is put
together in `tapemark.web.page_list`.
"""

__all__: list[str] = []
