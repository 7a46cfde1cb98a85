"""Commands about machines: which there are, and how long a file takes on one."""

from cyclopts import App

app = App(name="cutters", help="List the cutters that a job file may name.")


@app.default
def cutters_command() -> int:
    """List the cutters that a job file may name."""
    from cutroom.read.cutter import list_cutters, read_cutter

    for name in list_cutters():
        cutter = read_cutter(name)
        tools = ", ".join(f"{tool.name} ({tool.kind})" for tool in cutter.tools)
        print(f"{name:24} {cutter.title}; bed {cutter.length:g} x {cutter.width:g} mm; {tools}; {cutter.language}")
    return 0
