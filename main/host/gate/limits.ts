/** Who is at the other end of a wire, as far as limits go: they share within a group and never across groups. */
export type Group = 'members' | 'onlookers' | 'programs'

export interface GroupLimits {
  /** Windows open at the same time. */
  windows: number
  /** Largest message, bytes; text counts two a character. */
  largest: number
  /** Messages a second in the long run, and how many may come at once. */
  perSecond: number
  atOnce: number
  /** Bytes a second in the long run, and how many may come at once. */
  bytesPerSecond: number
  bytesAtOnce: number
  /** Calls of one window that are being answered; more wait. */
  running: number
  /** Streams (the state as it changes, traffic, a replay) open at the same time: of one window, and of all. */
  streamsEach: number
  streams: number
  /** Heavy work (reports, comparisons, previews) that may wait: of one window, and of all. */
  heavyEach: number
  heavy: number
}

/**
 * A window asks about 30 times a second, 200 times at once when 96 channels are looked up in the record. An onlooker sends
 * questions only, never a file.
 */
export const GATE_LIMITS: Readonly<Record<Group, GroupLimits>> = {
  members: {
    windows: 32,
    largest: 32 * 1024 * 1024,
    perSecond: 400,
    atOnce: 2000,
    bytesPerSecond: 8 * 1024 * 1024,
    bytesAtOnce: 64 * 1024 * 1024,
    running: 256,
    streamsEach: 8,
    streams: 96,
    heavyEach: 12,
    heavy: 40,
  },
  onlookers: {
    windows: 24,
    largest: 256 * 1024,
    perSecond: 300,
    atOnce: 1000,
    bytesPerSecond: 256 * 1024,
    bytesAtOnce: 1024 * 1024,
    running: 32,
    streamsEach: 4,
    streams: 48,
    heavyEach: 3,
    heavy: 8,
  },
  /** Other programs, which ask over HTTP: no windows, no streams. */
  programs: {
    windows: 0,
    largest: 1024 * 1024,
    perSecond: 50,
    atOnce: 200,
    bytesPerSecond: 256 * 1024,
    bytesAtOnce: 4 * 1024 * 1024,
    running: 8,
    streamsEach: 0,
    streams: 0,
    heavyEach: 2,
    heavy: 4,
  },
}

/** Replays at the same time: each has a thread of its own. */
export const MOST_REPLAYS = 2
/** Calls of one window that wait; a window that sends more is broken. */
export const MOST_WAITING = 4000
/** Length of the number a window gives a call. */
export const LONGEST_CALL_ID = 64
/** How long an onlooker is left unread while the loop that measures has no time to spare, ms. */
export const BRAKE_MS = 150
