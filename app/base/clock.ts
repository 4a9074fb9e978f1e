/** One moment as the station keeps it. */
export interface Instant {
  /** UTC in whole microseconds since 1970-01-01T00:00:00Z. May step when the computer's clock is set. */
  readonly utcUs: number
  /** Monotonic microseconds since the clock was made. Never steps back. */
  readonly monoUs: number
}

/** Anything with an end: a port, a subscription, a timer. */
export interface Disposable {
  dispose(): void
}

/** What app needs of an AbortSignal, which any runtime's own satisfies. */
export interface StopSignal {
  readonly aborted: boolean
  readonly reason: unknown
  addEventListener(type: 'abort', listener: () => void): void
  removeEventListener(type: 'abort', listener: () => void): void
}

/**
 * Bytes on their way along a line that leads through another process, as through a pseudo-terminal. Both ends say what
 * left them and what came, so that time which jumps does not jump while something is on its way.
 */
export interface Freight {
  /** From now on what leaves for this line is awaited at its other end. */
  join(line: string): void
  /** Nothing of this line is awaited any more. */
  leave(line: string): void
  left(line: string, toward: FreightEnd, count: number): void
  came(line: string, toward: FreightEnd, count: number): void
}

export type FreightEnd = 'instrument' | 'station'

/**
 * The only source of time. Everything that waits, stamps or measures a duration takes a Clock, so that the same
 * code runs a night in real time or in a minute.
 */
export interface Clock {
  now(): Instant
  /** Calls back once after `ms` of this clock's time. Disposing cancels. */
  after(ms: number, callback: () => void): Disposable
  /** Resolves after `ms` of this clock's time; rejects with the signal's reason when aborted. */
  sleep(ms: number, signal?: StopSignal): Promise<void>
  /** Where this clock jumps: what it must wait for. */
  readonly freight?: Freight
}

/** ISO 8601 UTC with microseconds, as files carry it: 2026-03-01T22:15:03.123456Z. */
export function isoUtc(utcUs: number): string {
  const whole = new Date(Math.floor(utcUs / 1000)).toISOString()
  const micros = String(((utcUs % 1000) + 1000) % 1000).padStart(3, '0')
  return `${whole.slice(0, -1)}${micros}Z`
}
