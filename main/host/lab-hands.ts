import { IN_CELL } from '../station/cell-runner.ts'
import type { Services } from './services.ts'

/**
 * The hands that a lab in a box has not: where a person says that the thermometer is in the next cell of a sequence, the lab puts it
 * there, provided that it has such a cell. A lab with one cell leaves it where it is.
 */
export async function followHands(
  { lab, station, sessions }: Pick<Services, 'lab' | 'station' | 'sessions'>,
  choice: string,
): Promise<void> {
  const { cells } = station.state().runner
  if (!lab || !cells || choice !== IN_CELL) return
  const { setup } = sessions.read(cells.session)
  const next = cells.steps.find(({ state }) => state === 'next')
  const thermometer = setup.bench.channels.find(({ id }) => id === setup.cells?.channel)?.thermometer
  if (!next || thermometer === undefined) return
  const { readyCell } = await import('../../simulator/scenarios/cells.ts')
  const place = readyCell(next.fixedPoint)
  if (lab.places.includes(place)) lab.move(thermometer, place)
}
