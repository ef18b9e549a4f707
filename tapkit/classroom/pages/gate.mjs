// Loaded into the proxy before it starts (node --import): at /user/ID/ only the browser of ID itself gets through.
// Its mark, a cookie, is set as somebody signs in (authenticator.py) and goes nowhere else. So whatever a learner puts in
// the place of their server is shown to nobody else, and cannot act on the hub's address with another's rights.
import { createHmac } from "node:crypto";
import { readFileSync } from "node:fs";
import http from "node:http";
import https from "node:https";

const key = readFileSync(process.env.TAPKIT_GATE);

function ownerOf(url) {
  const path = decodeURIComponent(new URL(url, "http://localhost").pathname);  // as the proxy reads it
  const [first, id] = path.split("/").filter(Boolean);
  return first === "user" ? id ?? "" : null;
}

function isOpenTo(request) {
  try {
    const owner = ownerOf(request.url);
    if (owner === null) return true;
    const mark = `tapkit-own=${createHmac("sha256", key).update(owner).digest("hex")}`;
    return (request.headers.cookie ?? "").split(";").some((cookie) => cookie.trim() === mark);
  } catch {
    return false;
  }
}

function refuse(event, request, answer) {
  if (event === "upgrade") {
    answer.end("HTTP/1.1 403 Forbidden\r\nContent-Length: 0\r\nConnection: close\r\n\r\n");
  } else if (request.method === "GET" && request.headers["sec-fetch-mode"] === "navigate") {
    answer.writeHead(302, { Location: `/hub${request.url}` });  // the hub asks who it is
    answer.end();
  } else {
    request.resume();
    answer.writeHead(403, { "Content-Type": "text/plain" });
    answer.end("This server is another person's, or you are not signed in.\n");
  }
  return true;
}

for (const kind of [http.Server, https.Server]) {
  const emit = kind.prototype.emit;
  kind.prototype.emit = function (event, request, answer, ...rest) {
    const asked = event === "request" || event === "upgrade";
    if (asked && !isOpenTo(request)) return refuse(event, request, answer);
    return emit.call(this, event, request, answer, ...rest);
  };
}
