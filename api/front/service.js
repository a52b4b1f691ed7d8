// Asking the server: with the key where it wants one, and with refusals in words.

let key = "";
let askForKey = null;

// What is called when the server wants a key; it resolves to one.
export function onKeyWanted(ask) {
  askForKey = ask;
}

const TITLES = {
  400: "The server cannot do that",
  413: "That is too large",
  415: "That kind of file is not read",
  422: "The file cannot be used yet",
  500: "Something went wrong on the server",
  503: "The server is busy",
};

export class Refused extends Error {
  constructor(title, detail, problems = []) {
    super(detail);
    this.title = title;
    this.detail = detail;
    this.problems = problems;
  }

  // From a problem document (RFC 9457).
  static by(problem, retryAfter = null) {
    const again = problem.status === 503 && retryAfter ? ` Try again in ${retryAfter} seconds.` : "";
    const title = TITLES[problem.status] ?? problem.title ?? "The server refused this";
    return new Refused(title, `${problem.detail ?? ""}${again}`, problem.problems ?? []);
  }
}

// The response to a request; what is not a success is thrown as Refused. Stopping it by its signal throws an AbortError.
export async function call(method, path, { body = null, media = null, accept = "application/json", signal = null } = {}) {
  for (;;) {
    const headers = { Accept: accept };
    if (media) headers["Content-Type"] = media;
    if (key) headers.Authorization = `Bearer ${key}`;
    const response = await answered(path, { method, headers, body, signal, cache: "no-store", credentials: "omit" });
    if (response.ok) return response;
    const problem = await response.json().catch(() => ({ title: response.statusText, status: response.status }));
    if (response.status !== 401) throw Refused.by(problem, response.headers.get("Retry-After"));
    key = await askForKey(key !== "");
  }
}

async function answered(path, options) {
  try {
    // Beside the page, wherever a server in front of this one may have put both.
    return await fetch(path.replace(/^\//, ""), options);
  } catch (error) {
    if (error.name === "AbortError") throw error;
    throw new Refused("The server does not answer", "It may have been stopped, or the network is down. Nothing here is lost.");
  }
}

export async function json(method, path, options) {
  return (await call(method, path, options)).json();
}

export function asJson(data) {
  return { body: JSON.stringify(data), media: "application/json" };
}

// The events of a stream (HTML standard, section 9.2), each with its name and data; comments are passed over.
export async function* events(response) {
  const reader = response.body.pipeThrough(new TextDecoderStream()).getReader();
  let text = "";
  for (;;) {
    const { done, value } = await reader.read();
    if (done) return;
    text += value;
    let end;
    while ((end = text.indexOf("\n\n")) >= 0) {
      const lines = text.slice(0, end).split("\n");
      text = text.slice(end + 2);
      const part = (name) => lines.find((line) => line.startsWith(`${name}: `))?.slice(name.length + 2);
      if (part("event")) yield { name: part("event"), data: JSON.parse(part("data")) };
    }
  }
}
