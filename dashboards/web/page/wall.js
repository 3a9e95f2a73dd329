// The view for a tablet on the wall (?wall): the answer and the picture, large,
// on a screen that stays on.

export function wall() {
  if (!new URLSearchParams(location.search).has("wall")) return;
  document.body.dataset.wall = "";
  const note = document.getElementById("wall-note");
  const hold = async () => {
    try {
      await navigator.wakeLock.request("screen");
      note.hidden = true;
    } catch {
      // Browsers keep the screen on only for pages over TLS or from this machine.
      note.hidden = false;
    }
  };
  hold();
  document.addEventListener("visibilitychange", () => document.hidden || hold());
}
