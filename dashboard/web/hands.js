/* For hands on a phone and on a keyboard, where Streamlit's fields have no option of their own.

   Number fields ask for the keypad with a decimal sign. Tab, and Next on a keypad, go down the readings of one
   visit and then down the next, not across; what is between the readings stays in the order. The menu is named
   as what it is. */
"use strict";

const COLUMN = '[data-testid="stColumn"]';
const NUMBER = '[class*="st-key-number"]';
const PAIR = '[class*="st-key-pair_"]';

function prepare() {
  for (const field of document.querySelectorAll('[class*="st-key-number"] input:not([inputmode="decimal"])')) {
    field.setAttribute("inputmode", "decimal");
    field.setAttribute("enterkeyhint", "next");
  }
}

/* Streamlit puts headings and blocks between the list of its menu and the list's items. */
function nameMenu() {
  for (const list of document.querySelectorAll('[data-testid="stSidebarNavItems"]:not([role])')) {
    list.setAttribute("role", "group");
  }
  for (const item of document.querySelectorAll('[data-testid="stSidebarNavItems"] li:not([role])')) {
    item.setAttribute("role", "none");
  }
}

function placeOf(node) {
  const column = node.closest(COLUMN);
  return column?.closest(PAIR) ? [...column.parentElement.children].indexOf(column) : -1;
}

function reachable() {
  const asked = 'input, select, textarea, button, a[href], summary, [tabindex]';
  return [...document.querySelectorAll(asked)].filter(
    (node) => node.tabIndex >= 0 && !node.disabled && !node.closest("[inert], details:not([open]) > :not(summary)")
      && node.checkVisibility({ contentVisibilityAuto: true, visibilityProperty: true }));
}

/* The place after (step 1) or before (step -1) a field; with `numbers` among the number fields alone. */
function following(from, step, numbers) {
  const place = numbers ? Math.max(placeOf(from), 1) : placeOf(from);
  if (place < 0) return null;
  const nodes = reachable().filter((node) => !numbers || node.closest(NUMBER));
  const inPlace = (where) => nodes.filter((node) => placeOf(node) === where);
  const own = inPlace(place);
  if (from === (step > 0 ? own[own.length - 1] : own[0])) {
    const other = inPlace(place + step);
    return (step > 0 ? other[0] : other[other.length - 1]) ?? null;
  }
  const way = nodes.filter((node) => [place, -1].includes(placeOf(node)));
  return way[way.indexOf(from) + step] ?? null;
}

document.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.altKey || event.metaKey) return;
  const next = event.key === "Enter" && event.target.closest?.(NUMBER);
  if (event.key !== "Tab" && !next) return;
  const target = following(event.target, event.shiftKey ? -1 : 1, next);
  if (!target) return;
  if (event.key === "Tab") event.preventDefault();
  target.focus();
  target.select?.();
});

function prepareAll() {
  prepare();
  nameMenu();
}

new MutationObserver(prepareAll).observe(document, { childList: true, subtree: true });
prepareAll();
