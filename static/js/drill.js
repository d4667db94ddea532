// Narrows the two stage fields to the stages of the chosen ending.

const form = document.getElementById('drill');
const from = form.elements.from, to = form.elements.to;

function narrow(select, stages, fallback) {
  for (const option of select.options) {
    option.hidden = option.disabled = !stages.includes(option.value);
  }
  if (!stages.includes(select.value)) select.value = fallback;
}

function fit() {
  const chosen = form.querySelector('input[name=ending]:checked');
  if (!chosen) return;
  const stages = chosen.dataset.stages.split(' ');
  narrow(from, stages, stages[0]);
  const first = stages.indexOf(from.value);
  narrow(to, stages.slice(Math.max(0, first)), stages.at(-1));
}

// stale says that the starts beside the form belong to an earlier choice.
function stale() {
  const side = document.getElementById('starts-head').parentElement;
  side.classList.add('stale');
  document.getElementById('starts-head').textContent = 'The choice has changed';
  side.querySelector('[value=pick]').textContent = 'Show its starts';
}

form.addEventListener('change', fit);
form.addEventListener('change', stale);
fit();
