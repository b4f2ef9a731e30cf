# mypy: ignore-errors
# (it runs in the system's Python; there are no type stubs for UNO)
"""The process that starts LibreOffice and hands it requests. Run by the system's Python, which alone has the `uno` module.

One JSON request a line on standard input, one JSON answer a line on standard output. What the requests ask is done within
soffice itself, by `libreoffice_inside.py`. It imports nothing of this project: it runs in another interpreter.
"""

import contextlib
import json
import pathlib
import subprocess
import sys
import time
import uuid

import uno
from com.sun.star.beans import NamedValue
from com.sun.star.connection import NoConnectException


def start_office(profile):
    """Start soffice on a pipe of its own and give its component context."""
    pipe = f"pipe,name={uuid.uuid4().hex}"
    soffice = subprocess.Popen(
        [
            "soffice",
            f"-env:UserInstallation={uno.systemPathToFileUrl(profile)}",
            "--headless",
            "--invisible",
            "--norestore",
            "--nologo",
            "--nodefault",
            "--nolockcheck",
            "--nofirststartwizard",
            f"--accept={pipe};urp;StarOffice.ComponentContext",
        ],
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    local = uno.getComponentContext()
    resolver = local.ServiceManager.createInstanceWithContext("com.sun.star.bridge.UnoUrlResolver", local)
    while True:  # the parent process limits the time
        try:
            return soffice, resolver.resolve(f"uno:{pipe};urp;StarOffice.ComponentContext")
        except NoConnectException:
            if soffice.poll() not in (None, 0, 81):  # 81: it restarts itself
                raise RuntimeError(f"soffice ended with code {soffice.returncode}") from None
            time.sleep(0.02)


def load_inside(context):
    """Have soffice load the component, and give it."""
    loader = context.ServiceManager.createInstanceWithContext("com.sun.star.loader.Python", context)
    module = pathlib.Path(__file__).with_name("libreoffice_inside.py")
    factory = loader.activate("tests.Inside", "", uno.systemPathToFileUrl(str(module)), None)
    return factory.createInstanceWithContext(context)


def main():
    soffice, context = start_office(sys.argv[1])
    inside = load_inside(context)
    print(json.dumps({"ready": True}), flush=True)
    for line in sys.stdin:
        print(inside.execute((NamedValue("request", line),)), flush=True)
        if soffice.poll() is not None:
            return
    with contextlib.suppress(Exception):  # the bridge breaks while it ends: that is the wish
        context.ServiceManager.createInstanceWithContext("com.sun.star.frame.Desktop", context).terminate()
    soffice.wait()


if __name__ == "__main__":
    main()
