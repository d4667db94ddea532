// A child's own settings: each change is seen at once and kept at once. Without this
// module the form has a button.

import { byId } from './dom.js';

const form = byId('own');
const root = document.documentElement;
const said = byId('kept');
const field = (name) => form.elements.namedItem(name);

// look lets the page and the sample look as the form says.
function look() {
  const scheme = field('scheme').value;
  if (scheme === 'device') root.removeAttribute('data-scheme');
  else root.setAttribute('data-scheme', scheme);
  root.toggleAttribute('data-big', field('big').checked);
  form.querySelectorAll('.sample').forEach((sample, i) => { sample.hidden = field('turned').checked !== (i === 1); });
}

// keep sends what is chosen; of several changes in a row the last one is sent last.
let waits = Promise.resolve();
function keep() {
  const body = new URLSearchParams(new FormData(form));
  waits = waits.then(() => fetch(form.action, { method: 'POST', body, redirect: 'manual' }))
    .then((answer) => answer.type === 'opaqueredirect', () => false)
    .then((kept) => { said.textContent = kept ? 'Kept. All of this is kept at once, for you alone.' : 'Not kept. Load this page again, then choose once more.'; });
}

form.addEventListener('change', () => { look(); keep(); });
form.addEventListener('submit', (e) => { e.preventDefault(); keep(); }); // Enter in the form
byId('keep').hidden = true;
said.textContent = 'All of this is kept at once, for you alone.';
look(); // a browser may have filled the form in again
