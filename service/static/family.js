// On a caregiver's page: the timer counts, and what is noted without a network is kept on the phone, shown, and sent later in order.
// Every form works without this file; a form is sent as it is, with `data-keep` on those that may wait.

const waiting = document.getElementById("waiting");
const home = waiting.dataset.home;
const isKeptPage = "kept" in document.documentElement.dataset; // by worker.js, without the clinic
const JSON_PLEASE = { Accept: "application/json" };

// ---- the phone's own store: entries in the order in which they were noted, and a timer that the clinic may not have heard of

const database = new Promise((resolve, reject) => {
  const opening = indexedDB.open("occlusion-dose", 1);
  opening.onupgradeneeded = () => {
    opening.result.createObjectStore("entries", { keyPath: "id", autoIncrement: true });
    opening.result.createObjectStore("timers", { keyPath: "home" });
  };
  opening.onsuccess = () => resolve(opening.result);
  opening.onerror = () => reject(opening.error);
});

async function store(name, mode, ask) {
  const transaction = (await database).transaction(name, mode);
  const request = ask(transaction.objectStore(name));
  return new Promise((resolve, reject) => {
    transaction.oncomplete = () => resolve(request.result);
    transaction.onerror = transaction.onabort = () => reject(transaction.error);
  });
}

const keep = entry => store("entries", "readwrite", s => s.put(entry));
const forget = id => store("entries", "readwrite", s => s.delete(id));
const kept = async () => (await store("entries", "readonly", s => s.getAll())).filter(e => e.home === home);
const localTimer = () => store("timers", "readonly", s => s.get(home));

// ---- sending

const TRANSIENT = new Set([408, 425, 429]);
const PATIENCE = 10000; // ms; a network may be there and let nothing through

// What the clinic answered: noted, ask, refused; null while it cannot be reached. Heard by the clinic all the same, it is not noted again: its key is the same.
async function send(entry) {
  const silence = new AbortController();
  const patience = setTimeout(() => silence.abort(), PATIENCE);
  try {
    return await answerTo(entry, silence.signal);
  } catch (noNetwork) {
    return null;
  } finally {
    clearTimeout(patience);
  }
}

async function answerTo({ address, fields }, signal) {
  const headers = { ...JSON_PLEASE, "X-Sent-At": new Date().toISOString() };
  const answer = await fetch(address, { method: "POST", body: new URLSearchParams(fields), headers, signal });
  if (answer.status >= 500 || TRANSIENT.has(answer.status)) return null;
  if (answer.status === 403 || answer.status === 404) return { state: "refused", message: waiting.dataset.closed, asks: [] };
  return answer.json(); // what is none comes from a network that shows a page of its own first
}

// One after the other: the second may only be right after the first. One that asks or is refused stays, and holds up no other.
let sending = Promise.resolve();
function sendAll() {
  sending = sending.then(async () => {
    let noted = 0;
    for (const entry of await kept()) {
      if (entry.state) continue;
      const answer = await send(entry);
      if (answer === null) break;
      if (answer.state === "noted") {
        await forget(entry.id);
        await settle(entry.fields);
        noted += 1;
      } else await keep({ ...entry, ...answer });
    }
    if (noted && !(await kept()).some(e => !e.state)) await store("timers", "readwrite", s => s.delete(home)).then(renewed);
    await show();
  });
  return sending;
}

// Once a timer is stopped, whatever else waits to stop it is answered.
async function settle({ timer_key: key, step }) {
  if (!key || step === "start") return;
  for (const other of await kept()) if (other.fields.timer_key === key && other.fields.step !== "start") await forget(other.id);
}

// The page as the clinic has it now, once nothing waits; never while something is typed and not yet sent.
function renewed() {
  const typed = [...document.querySelectorAll("input:not([type=hidden]), textarea")].some(f => (f.type === "radio" || f.type === "checkbox" ? f.checked !== f.defaultChecked : f.value !== f.defaultValue));
  if (!typed) location.replace(location.pathname + location.search);
}

// ---- forms

// A page that the phone keeps is used more than once: each timer of it has a key of its own.
const newKey = () => Array.from(crypto.getRandomValues(new Uint8Array(12)), byte => byte.toString(16).padStart(2, "0")).join("");

const said = (fields, button) => (fields.how === "some" ? `${fields.minutes} ${waiting.dataset.minutes}` : (button?.textContent ?? "").trim());

document.addEventListener("submit", async event => {
  const form = event.target.closest("form[data-keep]");
  if (!form || form.dataset.plain) return;
  event.preventDefault();
  if (form.dataset.busy) return; // a second tap
  form.dataset.busy = "yes";
  const fields = Object.fromEntries(new FormData(form, event.submitter));
  const stays = await taken(form, event.submitter, fields).catch(() => plainly(form, event.submitter, fields)); // a phone that lets nothing be kept
  if (stays) delete form.dataset.busy;
});

// True where the page stays as it is.
async function taken(form, button, fields) {
  const now = new Date().toISOString();
  fields.said_at = now;
  if (form.dataset.keep === "timer") {
    const own = await localTimer();
    fields.timer_key ||= own?.key ?? newKey();
    if (fields.step === "start") fields.started_at = now;
    else if (own && own.key === fields.timer_key) fields.started_at = own.started_at;
    if (fields.step !== "start" && fields.step !== "discard") fields.tapped_at ||= now;
  }
  const entry = { home, address: form.action, fields, text: said(fields, button), day: fields.on === "" ? localDay() : (fields.on ?? "") };
  const answer = (await kept()).some(e => !e.state) ? null : await send(entry);
  const then = form.dataset.then;
  if (answer === null && then) {
    await keepForLater(form, entry);
    if (then.endsWith("/signs")) location.assign(then);
    return true;
  }
  if (answer === null) return unanswered(form, fields) || keepForLater(form, entry);
  if (answer.state !== "noted") return plainly(form, button, fields);
  if (form.dataset.keep === "timer") await store("timers", "readwrite", s => s.delete(home)).then(() => settle(fields));
  location.assign(answer.see);
}

// What the clinic's page would ask for at once is asked for here, where nobody else can.
function unanswered(form, { how, step, reason, minutes, correction_worn: worn }) {
  const name = how === "some" && !minutes ? "minutes" : how === "none" ? (reason ? "" : "reason") : (how || step === "stop") && !worn ? "correction_worn" : "";
  if (!name) return false;
  waiting.hidden = false;
  waiting.querySelector(".state").textContent = waiting.dataset.missing;
  form.querySelector(`[name=${name}]`)?.focus();
  return true;
}

async function keepForLater(form, entry) {
  const { step, timer_key: key, started_at } = entry.fields;
  if (step === "start") await store("timers", "readwrite", s => s.put({ home, key, started_at }));
  else if (step) await store("timers", "readwrite", s => s.delete(home));
  await keep(entry);
  if (unchangedSince(form, entry.fields)) form.reset(); // else somebody writes the next one already
  await show(); // before it is tried again, which may take a while
  waiting.scrollIntoView({ block: "center" });
  sendAll();
  return true;
}

const unchangedSince = (form, fields) => [...new FormData(form)].every(([name, value]) => fields[name] === value || !value);

// As a page without a script would send it: the clinic's page asks what is open. The key is the same, so nothing is noted twice.
function plainly(form, button, fields) {
  fields.sent_at = new Date().toISOString();
  for (const name of ["timer_key", "started_at", "tapped_at", "said_at", "sent_at", button?.name].filter(n => n && fields[n])) {
    const hidden = Object.assign(document.createElement("input"), { type: "hidden", name, value: name === button?.name ? button.value : fields[name] });
    form.append(hidden);
  }
  form.dataset.plain = "yes";
  HTMLFormElement.prototype.submit.call(form);
}

// ---- what is shown

const template = document.getElementById("kept");

async function show() {
  const entries = await kept();
  const list = waiting.querySelector("ul");
  list.replaceChildren(...entries.map(line));
  const timer = await localTimer();
  const state = [];
  if (timer) state.push(`${waiting.dataset.running} ${clock(timer.started_at)}`);
  const unsent = entries.filter(e => !e.state).length;
  if (unsent) state.push(`${waiting.dataset.waiting} ${unsent.toLocaleString(waiting.dataset.locale)}. ${waiting.dataset.kept}`);
  if ((!navigator.onLine || isKeptPage) && waiting.dataset.day) state.push(`${waiting.dataset.offline} ${day(waiting.dataset.day)}.`);
  waiting.querySelector(".state").textContent = state.join(" ");
  waiting.hidden = !entries.length && !state.length;
  timerForms(timer, entries);
}

function line(entry) {
  const item = template.content.cloneNode(true).firstElementChild;
  item.querySelector(".said").textContent = [entry.day ? day(entry.day) : moment(entry.fields.said_at), entry.text, entry.message].filter(Boolean).join(" · ");
  const asksMore = entry.state === "ask" && entry.asks?.includes("more");
  const open = { add: asksMore, correct: asksMore, page: entry.state === "ask" && !asksMore, drop: Boolean(entry.state) };
  for (const button of item.querySelectorAll("[data-answer]")) {
    button.hidden = !open[button.dataset.answer];
    button.addEventListener("click", () => answered(entry, button.dataset.answer));
  }
  return item;
}

async function answered(entry, how) {
  if (how === "drop") await forget(entry.id);
  else if (how === "page") return onThePage(entry);
  else await keep({ ...entry, state: "", message: "", asks: [], fields: { ...entry.fields, more: how } });
  await sendAll();
}

// The questions of a timer are the page's own: the entry goes there as a form, and stays here until the clinic has its answer.
function onThePage(entry) {
  const form = Object.assign(document.createElement("form"), { method: "post", action: entry.address });
  for (const [name, value] of Object.entries({ ...entry.fields, sent_at: new Date().toISOString() })) form.append(Object.assign(document.createElement("input"), { type: "hidden", name, value }));
  document.body.append(form);
  form.submit();
}

// Where the phone's own timer runs, its stop is offered in place of the start. A timer of the clinic's is over once its stop waits to be sent.
function timerForms(timer, entries) {
  const theirs = document.querySelector("[data-server-timer]");
  const over = theirs && entries.some(e => !e.state && e.fields.timer_key === theirs.dataset.serverTimer && e.fields.step !== "start");
  if (over) {
    const after = document.getElementById("after-timer");
    after?.replaceWith(after.content);
    theirs.remove();
    whichDay();
  }
  for (const other of document.querySelectorAll("[data-without-timer]")) other.hidden = Boolean(timer) || Boolean(theirs && !over);
  const place = document.getElementById("local-timer");
  if (!place) return;
  place.hidden = !timer;
  if (timer && !place.firstElementChild) place.append(document.getElementById("local-stop").content.cloneNode(true));
  if (!timer) place.replaceChildren();
  const since = place.querySelector("[data-since]");
  if (since) since.dataset.since = timer.started_at;
  const key = place.querySelector("[name=timer_key]");
  if (key) key.value = timer.key;
  count();
}

const clock = at => new Date(at).toLocaleTimeString(waiting.dataset.locale, { hour: "2-digit", minute: "2-digit" });
const inWords = (at, part) => at.toLocaleDateString(waiting.dataset.locale, part);
const longDay = at => `${inWords(at, { weekday: "long" })} ${inWords(at, { day: "numeric" })} ${inWords(at, { month: "long" })}`; // as the clinic's pages write it
const day = on => longDay(new Date(`${on}T12:00:00`));
const moment = at => `${longDay(new Date(at))}, ${clock(at)}`;

// A page that was kept, or left open overnight, is of another day than the one it is used on: then the day is asked for.
const localDay = (daysAgo = 0) => {
  const at = new Date();
  at.setDate(at.getDate() - daysAgo);
  return [at.getFullYear(), at.getMonth() + 1, at.getDate()].map(n => String(n).padStart(2, "0")).join("-");
};

function whichDay() {
  const { day: shown, today } = waiting.dataset;
  const asked = new URLSearchParams(location.search).get("day") ?? shown;
  const meant = asked === shown && today !== undefined ? localDay() : asked;
  if (!shown || meant === shown) return;
  for (const hidden of document.querySelectorAll("form[data-keep][action$='/wear'] input[name=on]")) {
    const field = document.getElementById("which-day").content.cloneNode(true);
    const select = field.querySelector("select");
    for (let n = 1; n <= 7; n += 1) select.add(new Option(day(localDay(n)), localDay(n), false, localDay(n) === meant));
    hidden.replaceWith(field);
  }
}

function count() {
  for (const shown of document.querySelectorAll("[data-since]")) {
    const minutes = Math.max(0, Math.floor((Date.now() - new Date(shown.dataset.since)) / 60000));
    const pattern = shown.dataset.pattern;
    if (pattern) shown.textContent = pattern.replace("{h}", Math.floor(minutes / 60).toLocaleString(waiting.dataset.locale)).replace("{m}", (minutes % 60).toLocaleString(waiting.dataset.locale));
  }
}

setInterval(count, 10000);
setInterval(sendAll, 30000); // a network may come back without a word
addEventListener("online", () => sendAll().then(() => isKeptPage && renewed()));
addEventListener("offline", show);
document.addEventListener("visibilitychange", () => {
  if (document.visibilityState !== "visible") return;
  whichDay();
  sendAll();
});
navigator.serviceWorker?.register(`${home}/worker.js`, { scope: home });
whichDay();
sendAll();
