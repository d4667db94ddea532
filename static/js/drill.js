// Fits the builder to what is chosen: the stages of the ending, the kinds of start
// that it has, and what a hold drill does not ask.

import { Editor } from './editor.js';

const form = document.getElementById('drill');
const from = form.elements.from, to = form.elements.to;
const editor = new Editor(form.elements.fens);
const steps = {
  win: ['1 His wish', '2 His pen or the gaps', '3 Which man', '4 The move'],
  hold: ['1 His wish', '2 His next step', '3 Moves that hold', '4 The move'],
};

function narrow(select, stages, fallback) {
  for (const option of select.options) {
    option.hidden = option.disabled = !stages.includes(option.value);
  }
  if (!stages.includes(select.value)) select.value = fallback;
}

function fit() {
  const chosen = form.querySelector('input[name=ending]:checked');
  if (!chosen) return;
  form.classList.add('fits');
  const task = chosen.value.startsWith('hold-') ? 'hold' : 'win';
  for (const part of form.querySelectorAll('[data-task]')) part.hidden = part.dataset.task !== task;
  for (const part of form.querySelectorAll('[data-not]')) part.hidden = form.elements.mode.value === part.dataset.not;
  kinds(chosen.dataset.kinds.split(' '));
  words(task);
  say();
  editor.fit(chosen.dataset.men);
  if (task === 'hold') return;
  const stages = chosen.dataset.stages.split(' ');
  const begin = chosen.dataset.from.split(' ');
  narrow(from, begin, begin[0]);
  const first = stages.indexOf(from.value);
  narrow(to, stages.slice(Math.max(0, first)), stages[stages.length - 1]);
}

// say shows what the chosen button of a row is for.
function say() {
  for (const line of form.querySelectorAll('[data-of]')) {
    line.textContent = form.querySelector(`input[name=${line.dataset.of}]:checked`)?.dataset.say || '';
  }
}

// kinds leaves the kinds of start that the ending has.
function kinds(has) {
  for (const input of form.querySelectorAll('input[name=kind]')) {
    input.disabled = input.closest('label').hidden = !has.includes(input.value);
    if (input.disabled && input.checked) form.querySelector('input[name=kind][value=random]').checked = true;
  }
  form.classList.toggle('pasted', form.elements.kind.value === 'pasted');
}

// words names the steps of help and the number of moves as the task has them.
function words(task) {
  form.querySelectorAll('input[name=help]').forEach((input, i) => {
    input.closest('label').querySelector('.pill').lastChild.textContent = steps[task][i];
  });
  form.querySelector('label[for=f-budget]').textContent = task === 'hold' ? 'Moves to hold' : 'Moves at most';
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
