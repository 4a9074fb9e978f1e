/** Questions under way at the same time: enough to keep the station's reader busy, few enough to leave room for others. */
const AT_ONCE = 6

/** Does `act` for every one, a few at the same time, until all are done or the signal says to stop. */
export async function inTurn<T>(
  all: readonly T[],
  signal: AbortSignal,
  act: (one: T) => Promise<void>,
): Promise<void> {
  const queue = [...all]
  const worker = async () => {
    for (let one = queue.shift(); one !== undefined && !signal.aborted; one = queue.shift()) await act(one)
  }
  await Promise.all(Array.from({ length: AT_ONCE }, worker))
}
