import type { AlarmView } from '../../app/contract/views.ts'

/** Two soft tones, the second a fifth above the first: heard through a room, and no siren. */
const TONES_HZ = [440, 660]
const TONE_S = 0.35
const LOUDNESS = 0.15

let context: AudioContext | undefined

/** Sounds once. A browser that has not been touched yet stays silent; the alarm is on screen all the same. */
export function chime(): void {
  context ??= new AudioContext()
  const start = context.currentTime + 0.02
  for (const [i, hz] of TONES_HZ.entries()) {
    const tone = context.createOscillator()
    const volume = context.createGain()
    const at = start + i * TONE_S
    tone.frequency.value = hz
    volume.gain.setValueAtTime(0, at)
    volume.gain.linearRampToValueAtTime(LOUDNESS, at + 0.03)
    volume.gain.exponentialRampToValueAtTime(0.001, at + TONE_S)
    tone.connect(volume).connect(context.destination)
    tone.start(at)
    tone.stop(at + TONE_S)
  }
}

/** How often an alarm that nobody has seen sounds again, ms. */
export const AGAIN_MS = 60_000

/** Alarms that are to be heard: going on, not seen by anybody, and more than a notice. */
export function toBeHeard(alarms: readonly AlarmView[]): string[] {
  return alarms
    .filter(
      ({ active, acknowledgedBy, severity }) => active && acknowledgedBy === null && severity !== 'notice',
    )
    .map(({ id, count }) => `${id} ${count}`)
}
