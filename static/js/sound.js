// Short sounds, made on the spot: nothing is fetched, and nothing is heard before the
// first tap or key, as browsers want it.

// notes are what a sound is made of: from and to in Hz, when it begins and how long it
// lasts in seconds.
const notes = {
  tap: [[240, 130, 0, 0.07]],
  check: [[620, 620, 0, 0.09], [820, 820, 0.11, 0.14]],
  stop: [[330, 294, 0, 0.3]],
  end: [[392, 392, 0, 0.14], [523, 523, 0.15, 0.14], [659, 659, 0.3, 0.3]],
};

const loud = 0.2;

export class Sounds {
  constructor() {
    this.out = null; // the way to the ear, once there was a tap or a key
    const wake = () => {
      this.out = this.out || new AudioContext();
      if (this.out.state === 'suspended') this.out.resume();
    };
    for (const gesture of ['pointerup', 'keydown']) addEventListener(gesture, wake, { capture: true });
  }

  play(name) {
    if (!this.out) return;
    for (const note of notes[name]) this.note(...note);
  }

  note(from, to, after, lasts) {
    const { out } = this;
    const at = out.currentTime + after;
    const tone = out.createOscillator(), volume = out.createGain();
    tone.type = 'triangle';
    tone.frequency.setValueAtTime(from, at);
    tone.frequency.linearRampToValueAtTime(to, at + lasts);
    volume.gain.setValueAtTime(0, at);
    volume.gain.linearRampToValueAtTime(loud, at + 0.01);
    volume.gain.linearRampToValueAtTime(0, at + lasts);
    tone.connect(volume).connect(out.destination);
    tone.start(at);
    tone.stop(at + lasts);
  }
}
