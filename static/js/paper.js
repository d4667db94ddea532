// Buttons of pages that are printed or handed on: print, and copy a field.

for (const button of document.querySelectorAll('[data-print]')) {
  button.hidden = false;
  button.addEventListener('click', () => window.print());
}

for (const button of document.querySelectorAll('[data-copy]')) {
  if (!navigator.clipboard) break; // over plain http the field is copied by hand
  button.hidden = false;
  button.addEventListener('click', async () => {
    const field = document.getElementById(button.dataset.copy);
    const word = button.querySelector('span');
    try {
      await navigator.clipboard.writeText(field.value);
      word.textContent = 'Copied';
    } catch {
      field.select();
      word.textContent = 'Copy the marked text';
    }
  });
}
