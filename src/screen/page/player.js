// Plays the clips of a session, and draws each as a waveform.

const wave = document.getElementById("wave");
const playing = document.getElementById("playing");
let audio;
let sounding;
let chosen = -1;

async function decoded(name) {
  audio ??= new AudioContext();
  const answer = await fetch(`file/${name}`);
  if (!answer.ok) throw new Error("the clip is not there");
  return audio.decodeAudioData(await answer.arrayBuffer());
}

function draw(sound) {
  const { width, height } = wave;
  const samples = sound.getChannelData(0);
  const pen = wave.getContext("2d");
  pen.clearRect(0, 0, width, height);
  pen.fillStyle = getComputedStyle(wave).color;
  const each = Math.max(1, Math.floor(samples.length / width));
  for (let x = 0; x < width; x += 1) {
    let loudest = 0;
    for (let at = x * each; at < Math.min((x + 1) * each, samples.length); at += 1) {
      loudest = Math.max(loudest, Math.abs(samples[at]));
    }
    const tall = Math.max(1, loudest * height);
    pen.fillRect(x, (height - tall) / 2, 1, tall);
  }
}

/** Plays one clip from its beginning; whatever sounds is ended. */
async function play({ name, words }) {
  sounding?.stop();
  for (const other of document.querySelectorAll("[aria-current]")) other.removeAttribute("aria-current");
  const row = document.querySelector(`[data-clip="${CSS.escape(name)}"]`);
  row?.setAttribute("aria-current", "true");
  row?.scrollIntoView({ block: "nearest" });
  try {
    const sound = await decoded(name);
    draw(sound);
    await audio.resume();
    sounding = audio.createBufferSource();
    sounding.buffer = sound;
    sounding.connect(audio.destination);
    sounding.start();
    const seconds = sound.duration.toFixed(1);
    wave.setAttribute("aria-label", `Waveform of ${seconds} seconds: ${words}`);
    playing.textContent = `${seconds} s: ${words}`;
    wave.dataset.clip = name;
  } catch (error) {
    const why = error instanceof TypeError ? "the review has ended; start it again" : error.message;
    playing.textContent = `cannot be played: ${why}`;
  }
}

/** The clips that can be heard now, in order: `name` and `words`. The row of each names its clip. */
let clips = [];

export function offer(list) {
  clips = list;
}

/** One that is not among those offered can be heard, too: `words` is what it is called. */
export function playThis(name, words) {
  const found = clips.findIndex((clip) => clip.name === name);
  if (found >= 0) chosen = found;
  play(clips[found] ?? { name, words });
}

function move(by) {
  if (clips.length === 0) return;
  chosen = Math.min(clips.length - 1, Math.max(0, chosen + by));
  play(clips[chosen]);
}

document.getElementById("play").addEventListener("click", () => move(0));
document.getElementById("next").addEventListener("click", () => move(1));
document.getElementById("previous").addEventListener("click", () => move(-1));
document.addEventListener("keydown", (event) => {
  const typing = event.target.closest("input, textarea, dialog");
  if (typing || event.ctrlKey || event.altKey || event.metaKey) return;
  const by = { p: 0, k: 1, j: -1 }[event.key.toLowerCase()];
  if (by !== undefined) move(by);
});
