"""A headless Chromium at the other end of a pipe: opens pages, measures, photographs and prints them."""

import base64
import json
import os
import pathlib
import select
import shutil
import subprocess
import tempfile
import time

# The browser's own noise is no message of a page; a container may have neither a GPU nor much shared memory.
OPTIONS = ("--headless=new", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", "--disable-extensions",
           "--disable-background-networking", "--disable-component-update", "--disable-sync", "--no-first-run",
           "--no-default-browser-check", "--hide-scrollbars", "--force-color-profile=srgb", "--remote-debugging-pipe")


def chromium():
    return shutil.which("chromium") or shutil.which("chromium-browser")


class Browser:
    """One window. `messages` holds what its pages said on the console, `requests` all they asked for."""

    def __init__(self):
        self.folder = tempfile.TemporaryDirectory(prefix="shotassay-chromium-")
        home = pathlib.Path(self.folder.name)
        to_child, self.write_end = os.pipe()
        self.read_end, from_child = os.pipe()

        def take_places():  # the protocol speaks on descriptors 3 and 4, whatever numbers the pipes got
            read, write = os.dup(to_child), os.dup(from_child)
            os.dup2(read, 3)
            os.dup2(write, 4)

        environment = {"PATH": os.environ["PATH"], "HOME": str(home), "XDG_RUNTIME_DIR": str(home), "LC_ALL": "C.UTF-8"}
        self.process = subprocess.Popen([chromium(), *OPTIONS, f"--user-data-dir={home}/profile", "about:blank"],
                                        stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
                                        env=environment, preexec_fn=take_places, pass_fds=(3, 4), start_new_session=True)
        os.close(to_child)
        os.close(from_child)
        self.number, self.unread, self.session = 0, b"", None
        self.messages, self.requests, self.happened = [], [], []
        target = self.command("Target.createTarget", url="about:blank")["targetId"]
        self.session = self.command("Target.attachToTarget", targetId=target, flatten=True)["sessionId"]
        for domain in ("Page", "Runtime", "Log", "Network"):
            self.command(f"{domain}.enable")

    def close(self):
        try:
            self.session = None
            self.command("Browser.close")
            self.process.wait(timeout=10)
        except (OSError, RuntimeError, subprocess.TimeoutExpired):
            self.process.kill()
            self.process.wait()
        os.close(self.write_end)
        os.close(self.read_end)
        self.folder.cleanup()

    def message(self, timeout=60):
        """The next message of the browser."""
        end = time.monotonic() + timeout
        while b"\0" not in self.unread:
            ready, _, _ = select.select([self.read_end], [], [], max(0, end - time.monotonic()))
            got = os.read(self.read_end, 1 << 20) if ready else b""
            if not got:
                raise RuntimeError("the browser has stopped" if ready else "the browser does not answer")
            self.unread += got
        text, self.unread = self.unread.split(b"\0", 1)
        return json.loads(text)

    def heed(self, message):
        what, about = message.get("method"), message.get("params", {})
        if what == "Runtime.consoleAPICalled":
            self.messages.append(" ".join(str(a.get("value", a.get("description"))) for a in about["args"]))
        elif what == "Runtime.exceptionThrown":
            self.messages.append(about["exceptionDetails"]["text"])
        elif what == "Log.entryAdded":
            self.messages.append(about["entry"]["text"])
        elif what == "Network.requestWillBeSent":
            self.requests.append(about["request"]["url"])
        if what:
            self.happened.append(what)

    def command(self, method, **parameters):
        self.number += 1
        words = {"id": self.number, "method": method, "params": parameters}
        if self.session:
            words["sessionId"] = self.session
        os.write(self.write_end, json.dumps(words).encode("utf-8") + b"\0")
        while True:
            message = self.message()
            if message.get("id") == self.number:
                if "error" in message:
                    raise RuntimeError(f"{method}: {message['error']['message']}")
                return message["result"]
            self.heed(message)

    def show(self, width, scheme="light"):
        """A window of this width, for a reader who prefers this scheme."""
        self.command("Emulation.setDeviceMetricsOverride", width=width, height=900, deviceScaleFactor=1, mobile=False)
        self.command("Emulation.setEmulatedMedia", media="screen",
                     features=[{"name": "prefers-color-scheme", "value": scheme}])

    def open(self, path):
        self.messages, self.requests, self.happened = [], [], []
        self.command("Page.navigate", url=pathlib.Path(path).resolve().as_uri())
        while "Page.loadEventFired" not in self.happened:
            self.heed(self.message())

    def ask(self, script):
        """The value of an expression of JavaScript."""
        answer = self.command("Runtime.evaluate", expression=script, returnByValue=True)
        if "exceptionDetails" in answer:
            raise RuntimeError(json.dumps(answer["exceptionDetails"]))
        return answer["result"].get("value")

    def photograph(self):
        """The whole page as PNG."""
        return base64.b64decode(self.command("Page.captureScreenshot", captureBeyondViewport=True)["data"])

    def paper(self, width, height):
        """The page as PDF, on paper of this size in inches, as a reader who changes nothing prints it."""
        self.command("Emulation.setEmulatedMedia", media="", features=[])
        self.command("Emulation.clearDeviceMetricsOverride")
        return base64.b64decode(self.command("Page.printToPDF", paperWidth=width, paperHeight=height,
                                             printBackground=False, preferCSSPageSize=False)["data"])
