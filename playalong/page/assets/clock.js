// Ticks of the written music -> seconds, on the very blocks of frames at which the sound acts.
function secondsAt(ticks, us) {
  const { grid, frames, rate } = DATA.clock;
  let perQuarter = grid;
  while (us * rate > perQuarter * 1e6 * frames) perQuarter *= 2;
  const tick = BigInt(Math.round((ticks * perQuarter) / grid));
  const part = BigInt(perQuarter) * 1000000n * BigInt(frames);
  const block = (2n * tick * BigInt(us) * BigInt(rate) + part) / (2n * part);
  return (Number(block) * frames) / rate;
}

function clockText(seconds) {
  const whole = Math.max(0, Math.ceil(seconds));
  return `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, "0")}`;
}
