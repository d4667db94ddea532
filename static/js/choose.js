// The roster: says how many students are ticked, and marks their rows.

for (const form of document.querySelectorAll('.chosen-form')) {
  const say = form.querySelector('[data-chosen]');
  const words = say?.textContent;
  const count = () => {
    let n = 0;
    for (const box of form.querySelectorAll('[name="student"]')) {
      n += box.checked ? 1 : 0;
      box.closest('tr').classList.toggle('on', box.checked);
    }
    if (say) say.textContent = n ? `${n} chosen` : words;
  };
  form.addEventListener('change', count);
  count();
}
