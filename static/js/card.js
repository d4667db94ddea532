// Reads a card's pattern with the camera, where the browser can read codes by
// itself. No picture leaves the page or is kept.

const box = document.getElementById('camera');
const video = document.getElementById('video');
const seen = document.getElementById('seen');
const look = document.getElementById('look');

async function able() {
  if (!('BarcodeDetector' in window) || !isSecureContext || !navigator.mediaDevices) return false;
  return (await window.BarcodeDetector.getSupportedFormats()).includes('qr_code');
}

// wanted gives the address inside a pattern if it is a card of this very site.
function wanted(text) {
  try {
    const url = new URL(text);
    return url.origin === location.origin && url.pathname === '/open' && url.hash ? url : null;
  } catch { return null; }
}

async function watch(detector, stream) {
  const found = await detector.detect(video).catch(() => []);
  const url = found.map((code) => wanted(code.rawValue)).find(Boolean);
  if (url) {
    stream.getTracks().forEach((track) => track.stop());
    if (document.getElementById('shared').checked) url.search = 'shared=on';
    location.assign(url);
    return;
  }
  if (found.length) seen.textContent = 'This pattern is not a card of this club.';
  setTimeout(() => watch(detector, stream), 250);
}

async function start() {
  try {
    const stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: 'environment' } });
    video.srcObject = stream;
    video.hidden = false;
    look.hidden = true;
    await video.play();
    watch(new window.BarcodeDetector({ formats: ['qr_code'] }), stream);
  } catch {
    seen.textContent = 'The camera is not on. Allow it in the browser, or type the number and the four words.';
  }
}

if (await able()) {
  box.hidden = false;
  document.getElementById('lead').textContent = 'Hold the pattern in front of the camera.';
  look.addEventListener('click', start);
}
