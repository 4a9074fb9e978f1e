/** A window of time, s UTC. */
export interface TimeWindow {
  from: number
  to: number
}

/** What a plot asks, and what it tells of a person's hand. */
export interface PaneHooks {
  setpointAt(time: number): number
  onZoom(window: TimeWindow): void
  onSelect(window: TimeWindow | null): void
  onCursor(time: number | null): void
}
