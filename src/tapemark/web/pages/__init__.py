"""The pages of the app: every module here named ``*_page`` is one.

It has a list of routes, ``ROUTES``. ``LARGE_BODIES``, if it has that, maps a path, or the beginning
of paths with a slash at its end, to the most bytes that may be sent there. ``WORK``, if it has
that, maps names to tasks that its windows may begin over the socket ``/work``. ``NAV``, if it has
that, puts it into the head of every page: ``NAV = (60, "/picture", "Picture")``, its rank among
the tabs, its address and its one short word. Set, Start, Own things, Day and Paper have 10 to 50;
on a phone the first three are tabs and all others are under "More". All of it is put together in
`tapemark.web.page_list`.
"""

__all__: list[str] = []
