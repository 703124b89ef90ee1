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

// What was open stays open.  Where what had the focus is gone, it goes to the heading of the part of the page that
// changed.
let before = null;
document.addEventListener("htmx:beforeSwap", () => {
  const active = document.activeElement;
  before = {
    open: [...document.querySelectorAll("details[open][id]")].map((one) => one.id),
    id: active && active !== document.body ? active.id : "",
    home: active ? active.closest("[data-home]") : null,
  };
});
document.addEventListener("htmx:afterSettle", () => {
  if (!before) {
    return;
  }
  for (const id of before.open) {
    const details = document.getElementById(id);
    if (details) {
      details.open = true;
    }
  }
  const home = before.home && document.getElementById(before.home.dataset.home);
  for (const target of [before.id && document.getElementById(before.id), home]) {
    if (target && (!document.activeElement || document.activeElement === document.body)) {
      target.focus({ preventScroll: true });
    }
  }
});
