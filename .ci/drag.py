"""A little window with one file in it, to be dragged out by a test: drag.py FILE X Y"""
import sys

import gi

gi.require_version("Gtk", "3.0")
gi.require_version('Gdk', '3.0')
from gi.repository import Gdk, GLib, Gtk  # noqa: E402

path, x, y = sys.argv[1], int(sys.argv[2]), int(sys.argv[3])
window = Gtk.Window(title="A file to drag")
window.set_default_size(120, 80)
box = Gtk.EventBox()
box.add(Gtk.Label(label=path.rsplit("/", 1)[-1]))
box.drag_source_set(Gdk.ModifierType.BUTTON1_MASK, [Gtk.TargetEntry.new("text/uri-list", 0, 0)], Gdk.DragAction.COPY)
box.connect("drag-data-get", lambda _, context, data, info, time: data.set_uris([GLib.filename_to_uri(path, None)]))
window.add(box)
window.connect("destroy", Gtk.main_quit)
window.show_all()
window.move(x, y)
Gtk.main()
