// The settings that the daemon runs with. They are changed in the file alone.

import { ask } from "./api.js";

const $ = (id) => document.getElementById(id);

async function begin() {
  try {
    if ((await ask("api/v1/session")).role === "none") {
      location.replace("./");
      return;
    }
    const s = await ask("api/v1/settings");
    $("where").textContent = (s.path ? `From ${s.path}, with what the file leaves out.` : "No config file: these are the defaults.") +
      " Change the file, then restart nightclamp. Secrets are hidden.";
    $("text").textContent = s.text;
    $("settings").hidden = false;
    $("told").textContent = "";
  } catch (err) {
    $("told").textContent = err.message;
  }
}

begin();
