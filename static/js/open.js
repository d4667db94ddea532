// Takes the secret from behind the #, where it never reaches a server's log, out
// of the address and into the form.

const secret = location.hash.slice(1);
const field = document.querySelector('input[name=token]');
if (secret && field) {
  field.value = decodeURIComponent(secret);
  history.replaceState(null, '', location.pathname);
}

// A club's days begin at the midnight of the browser that sets it up.
const zone = document.querySelector('input[name=zone]');
if (zone) zone.value = Intl.DateTimeFormat().resolvedOptions().timeZone || '';

const form = document.getElementById('open');
const asks = form?.hasAttribute('data-ask'); // somebody is signed in here: a person decides
if (form && secret && !asks) form.submit();
else if (form && !field.value) document.getElementById('open-say').textContent = 'There is nothing to open: the part of the link after the # is missing. Open the whole link once more.';
