"""A server a learner puts in the place of their own, and its page, which tries what it can in the browser of others."""

import json

SERVE = """
import os, socket, threading
page = {page!r}.encode()
place = os.environ["TAPKIT_SOCKET"]
os.unlink(place)
line = socket.socket(socket.AF_UNIX)
line.bind(place); os.chmod(place, 0o660); line.listen(64)
def serve():
    while True:
        one, _ = line.accept()
        one.recv(65536)
        head = "HTTP/1.1 200 OK\\r\\nContent-Type: text/html\\r\\nConnection: close\\r\\nContent-Length: "
        one.sendall(head.encode() + str(len(page)).encode() + b"\\r\\n\\r\\n" + page)
        one.close()
threading.Thread(target=serve, daemon=True).start()
print("listening")
"""
"""What a learner's kernel can do: put a server of its own in the place of the learner's server."""

PAGE = """<!doctype html><title>wait</title><body><script>
const said = {}, hub = HUB, instructor = INSTRUCTOR;
async function tried(name, attack) {
  try { said[name] = String(await attack()); } catch (error) { said[name] = "refused"; }
}
const text = async (url) => (await fetch(url, {credentials: "include"})).text();
async function framed(url) {
  const frame = document.body.appendChild(document.createElement("iframe"));
  const loaded = new Promise((done) => frame.addEventListener("load", done));
  frame.src = url;
  await loaded;
  return frame.contentDocument.cookie + frame.contentDocument.title;
}
(async () => {
  await tried("users", () => text(hub + "/hub/api/users"));
  await tried("home", () => text(hub + "/hub/home"));
  await tried("files", () => text(instructor + "/user/instructor/api/contents"));
  await tried("frame", () => framed(hub + "/hub/home"));
  await tried("lab", () => framed(instructor + "/user/instructor/lab"));
  document.title = JSON.stringify(said);
})();
</script>"""


def evil(hub, instructor):
    """The page, for a hub and an instructor's server at these addresses."""
    return PAGE.replace("HUB", json.dumps(hub)).replace("INSTRUCTOR", json.dumps(instructor))
