// While it plays the screen stays awake, and the lock screen shows what plays and has its buttons.
// A system shows them only for an element that plays; beside samples that is one that is silent.
class Awake {
  constructor(app) {
    this.app = app;
    this.silence = new Audio(URL.createObjectURL(silentSound()));
    this.silence.loop = true;
    document.addEventListener("visibilitychange", () => { if (!document.hidden && isPlaying()) this.hold(); });
    const media = navigator.mediaSession;
    if (!media) return;
    const acts = {
      play: () => app.play(), pause: () => app.pause(), stop: () => app.pause(),
      nexttrack: () => app.choice.goStep(1), previoustrack: () => app.choice.goStep(-1),
      seekforward: () => app.stepBar(1), seekbackward: () => app.stepBar(-1),
      seekto: ({ seekTime }) => app.leaveLoopFor(seekTime),
    };
    for (const [name, act] of Object.entries(acts)) {
      try { media.setActionHandler(name, act); } catch { /* a browser need not know them all */ }
    }
  }

  show(playing) {
    if (playing) { this.hold(); this.silence.play().catch(() => {}); } else { this.lock?.release(); this.lock = null; this.silence.pause(); }
    if (!navigator.mediaSession) return;
    const { name, track } = this.app.choice;
    navigator.mediaSession.metadata = new MediaMetadata({ title: name, album: DATA.title });
    navigator.mediaSession.playbackState = playing ? "playing" : "paused";
    const position = Math.min(this.app.sound.time, track.seconds);
    navigator.mediaSession.setPositionState?.({ duration: track.seconds, position, playbackRate: 1 });
  }

  async hold() {
    try { this.lock ??= await navigator.wakeLock.request("screen"); } catch { return; }
    this.lock.addEventListener("release", () => { this.lock = null; });
  }
}

// Ten seconds, since a shorter sound counts as a mere signal.
function silentSound() {
  const rate = 8000, frames = 10 * rate;
  return new Blob([wavHead(frames, rate, 1), new Uint8Array(frames).fill(128)], { type: "audio/wav" });
}
