// What came out of one run: what a ruler says of it, and photos.

import { ask, Refused } from "./api.js";
import { make } from "./make.js";

const $ = (id) => document.getElementById(id);
const id = decodeURIComponent(location.hash.slice(1));
const path = `api/v1/runs/${encodeURIComponent(id)}`;
const form = $("form");
let out; // the newest answer

const lengths = [["depth_m", "Depth"], ["span_m", "over a span of"], ["mould_depth_m", "Mould's depth"], ["radius_m", "or radius"], ["mould_radius_m", "Mould's radius"]];
const field = (curve, name) => form.elements[`${curve}.${name}`];

function prepare() {
  for (const set of form.querySelectorAll("[data-curve]")) {
    set.append(...lengths.map(([name, label]) => make("label", {}, label,
      make("input", { name: `${set.dataset.curve}.${name}`, type: "number", inputMode: "decimal", min: "0", max: "100000", step: "any" }))));
  }
  form.elements.after.addEventListener("change", fill);
  form.addEventListener("submit", keep);
}

const tidy = (v, scale) => (v === null || v === undefined ? "" : String(Number((v * scale).toPrecision(7))));

// What is known for that time stands in the form.
function fill() {
  const o = out.outcomes.find((x) => x.after === form.elements.after.value);
  for (const curve of ["along", "across"]) {
    for (const [name] of lengths) field(curve, name).value = tidy(o?.[curve][name], 1000);
  }
  form.elements.weight_kg.value = tidy(o?.weight_kg, 1);
  form.elements.delaminated.value = o?.delaminated == null ? "" : o.delaminated ? "yes" : "no";
  form.elements.notes.value = o?.notes ?? "";
}

function show(answer) {
  out = answer;
  $("work").textContent = out.work || out.run;
  $("says").replaceChildren(...out.says.map((s) => make("li", {}, s)));
  const photos = out.outcomes.flatMap((o) => o.photos.map((p) => [p, o.after]));
  $("shown").hidden = photos.length === 0;
  $("photos").replaceChildren(...photos.map(([p]) => {
    const href = `${path}/photos/${encodeURIComponent(p.name)}`;
    return make("li", {}, make("a", { href }, make("img", { src: href, alt: p.name, loading: "lazy", width: 240, height: Math.round(240 * p.height / p.width) })));
  }));
}

const number = (text, scale) => (text.trim() === "" ? null : Number((Number(text) / scale).toPrecision(9)));

function order() {
  const o = { weight_kg: number(form.elements.weight_kg.value, 1), notes: form.elements.notes.value, delaminated: null };
  if (form.elements.delaminated.value) o.delaminated = form.elements.delaminated.value === "yes";
  for (const curve of ["along", "across"]) {
    o[curve] = Object.fromEntries(lengths.map(([name]) => [name, number(field(curve, name).value, 1000)]));
  }
  return o;
}

async function send(file, after) {
  const answer = await fetch(`${path}/outcomes/${after}/photos/${encodeURIComponent(file.name)}`, { method: "POST", body: file });
  const told = await answer.json().catch(() => ({}));
  if (!answer.ok) throw new Refused(answer.status, told.detail ?? `nightclamp answered ${answer.status}`);
  return told;
}

async function keep(e) {
  e.preventDefault();
  const after = form.elements.after.value;
  $("wrong").textContent = "";
  e.submitter.disabled = true;
  try {
    let answer = await ask(`${path}/outcomes/${after}`, "PUT", order());
    for (const file of form.elements.photos.files) answer = await send(file, after);
    form.elements.photos.value = "";
    show(answer);
    $("told").textContent = "Written down.";
    scrollTo(0, 0);
  } catch (err) {
    $("wrong").textContent = err.message;
  } finally {
    e.submitter.disabled = false;
  }
}

async function begin() {
  try {
    const session = await ask("api/v1/session");
    if (session.role === "none") {
      location.replace("./");
      return;
    }
    $("back").href = "runs.html#" + encodeURIComponent(id);
    prepare();
    show(await ask(`${path}/outcomes`));
    form.elements.after.value = out.now;
    fill();
    form.hidden = session.role !== "owner" || !out.released;
    if (!out.released) $("told").textContent = "It is still in the bag.";
  } catch (err) {
    $("work").textContent = err.message;
  }
}

begin();
