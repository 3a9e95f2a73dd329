// Asks for the password where there is one.

import { ask } from "./api.js";

const $ = (id) => document.getElementById(id);

// Resolves with the session once somebody may at least look.
export async function enter() {
  const session = await ask("api/v1/session");
  if (session.role !== "none") return session;
  document.body.dataset.locked = "";
  $("login").hidden = false;
  $("login-form").hidden = !session.password;
  if (!session.password) {
    $("login-told").textContent = "nightclamp has no password, so it answers only the machine it runs on. Set one in its config to open the page to others.";
    return new Promise(() => {});
  }
  $("password").focus();
  return new Promise((done) => {
    $("login-form").addEventListener("submit", async (e) => {
      e.preventDefault();
      try {
        await ask("api/v1/session", "POST", { password: $("password").value });
        $("password").value = "";
        $("login").hidden = true;
        delete document.body.dataset.locked;
        done(await ask("api/v1/session"));
      } catch (err) {
        $("login-told").textContent = err.status === 403 ? "That is not the password." : err.message;
        $("password").select();
      }
    });
  });
}

export async function leave() {
  await ask("api/v1/session", "DELETE");
  location.reload();
}
