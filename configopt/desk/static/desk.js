// Small helpers beside htmx: sliders beside number fields, and where the keyboard goes after a part of the page changed.
"use strict";
document.documentElement.classList.add("scripted");

// A slider has no name of its own: it moves the number field it belongs to, and follows it.
document.addEventListener("input", (event) => {
  const moved = event.target;
  if (moved.matches("input[type=range][data-moves]")) {
    const field = document.getElementById(moved.dataset.moves);
    if (field && field.value !== moved.value) {
      field.value = moved.value;
    }
    field.dispatchEvent(new Event("input", { bubbles: true }));
    event.stopPropagation();
  } else if (moved.id && event.isTrusted) {
    const slider = document.querySelector(`input[type=range][data-moves="${CSS.escape(moved.id)}"]`);
    if (slider && moved.value !== "") {
      slider.value = moved.value;
    }
  }
}, true);

// Where nobody answers, that is said.
document.addEventListener("htmx:sendError", () => {
  const status = document.getElementById("status");
  if (status) {
    const told = document.createElement("p");
    told.className = "problem";
    told.textContent = "The program does not answer. Is it still running in its terminal? Load the page anew when it is.";
    status.replaceChildren(told);
  }
});

// Where what had the focus is gone, it goes to the heading of the part of the page that changed.
let before = null;
document.addEventListener("htmx:beforeSwap", () => {
  const active = document.activeElement;
  before = active && active !== document.body ? { id: active.id, home: active.closest("[data-home]") } : null;
});
document.addEventListener("htmx:afterSettle", () => {
  if (!before || (document.activeElement && document.activeElement !== document.body)) {
    return;
  }
  const again = before.id && document.getElementById(before.id);
  const home = before.home && document.getElementById(before.home.dataset.home);
  const target = again || home;
  if (target) {
    target.focus({ preventScroll: true });
  }
});
