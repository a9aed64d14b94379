// Hears that something changed. `follow` takes topics with the editions a page shows and says on the document, as
// `teamroom:moved`, when one has moved on. It listens to a stream; where none can be kept it asks every few seconds.
// Only a page in sight listens: a browser keeps few connections to one host.

const ASK_EVERY = 5000;
const TRY_STREAM_AGAIN = 60000;
const MOST_FAULTS = 3;
// The server ends each stream before this: one that is older has died without a word.
const LONGEST = 660000;
const TICK = 10000;
const known = new Map();
let stream = null;
let timer = 0;
let faults = 0;
let refused = "";

const visible = () => document.visibilityState === "visible";
const asked = () => [...known.keys()].map((topic) => `topic=${encodeURIComponent(topic)}`).join("&");
const since = () => [...known].map(([topic, edition]) => `${topic}:${edition}`).join(",");

/** `classroom-12:17 year-3:4` as pairs. */
export function readTopics(written) {
  return (written ?? "").split(" ").filter(Boolean).map((pair) => {
    const at = pair.lastIndexOf(":");
    return [pair.slice(0, at), Number(pair.slice(at + 1))];
  });
}

export function follow(topics) {
  let more = false;
  for (const [topic, edition] of topics) {
    if (known.has(topic)) continue;
    known.set(topic, edition);
    more = true;
  }
  if (more) restart();
}

function tell(topic, edition) {
  document.dispatchEvent(new CustomEvent("teamroom:moved", { detail: { topic, edition } }));
}

function moved(topic, edition) {
  if (!known.has(topic) || known.get(topic) === edition) return;
  // Editions go backwards only when a database was put back from a copy: then nothing shown is sure.
  const sure = edition > known.get(topic);
  known.set(topic, edition);
  tell(topic, sure ? edition : Infinity);
}

/** Signed out, or no longer for this reader's eyes: what the page shows says so when it is asked for. */
function giveUp() {
  refused = asked();
  stop();
  const topics = [...known.keys()];
  known.clear();
  for (const topic of topics) tell(topic, Infinity);
}

function stop() {
  stream?.close();
  stream = null;
  clearTimeout(timer);
}

function restart() {
  stop();
  // What was refused is not asked for again; a page that shows less of it by now is heard.
  if (!visible() || !known.size || asked() === refused) return;
  if (window.EventSource && faults < MOST_FAULTS) listen();
  else ask();
}

function listen() {
  const opened = new EventSource(`/live/?${asked()}&since=${encodeURIComponent(since())}`);
  stream = opened;
  timer = setTimeout(restart, LONGEST);
  opened.addEventListener("at", () => (faults = 0));
  opened.addEventListener("changed", (event) => {
    const { topic, edition } = JSON.parse(event.data);
    moved(topic, edition);
  });
  opened.addEventListener("error", () => {
    if (opened !== stream) return;
    faults += 1;
    // A browser tries again by itself, unless the answer was no stream at all.
    if (faults < MOST_FAULTS && opened.readyState !== EventSource.CLOSED) return;
    faults = MOST_FAULTS;
    setTimeout(() => {
      faults = 0;
      restart();
    }, TRY_STREAM_AGAIN);
    restart();
  });
}

async function ask() {
  timer = setTimeout(ask, ASK_EVERY);
  try {
    const answer = await fetch(`/live/positions/?${asked()}`, { redirect: "manual" });
    if (answer.type === "opaqueredirect" || answer.status === 404) return giveUp();
    if (answer.ok) for (const [topic, edition] of Object.entries(await answer.json())) moved(topic, edition);
  } catch {
    // No connection: the next asking may find one.
  }
}

document.addEventListener("visibilitychange", () => (visible() ? restart() : stop()));
window.addEventListener("pagehide", stop);
window.addEventListener("pageshow", (event) => event.persisted && restart());
window.addEventListener("online", restart);

// A machine that slept holds a stream that is dead and does not know it.
let ticked = Date.now();
setInterval(() => {
  if (visible() && Date.now() - ticked > 3 * TICK) restart();
  ticked = Date.now();
}, TICK);
