// A sheet of cards: says how many are made, shows them when all are, and prints them.

import './paper.js';

const say = document.querySelector('[data-making]');

async function ask() {
  try {
    const answer = await fetch(`/cards/progress?no=${say.dataset.making}`);
    if (!answer.ok) return;
    const { done, of } = await answer.json();
    if (done >= of) {
      location.reload();
      return;
    }
    say.textContent = `${done} of ${of} are made.`;
  } catch { /* not connected: asks again */ }
  setTimeout(ask, 700);
}

if (say) ask();
