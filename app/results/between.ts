import { at, last as lastOf } from '../base/lists.ts'

/** Linear between the temperatures named, the nearest beyond them. */
export function betweenTemperatures<K extends string>(
  values: readonly ({ readonly celsius: number } & Readonly<Record<K, number>>)[],
  key: K,
  celsius: number,
): number {
  const sorted = values.toSorted((a, b) => a.celsius - b.celsius)
  const first = at(sorted, 0)
  const last = lastOf(sorted)
  if (celsius <= first.celsius) return first[key]
  if (celsius >= last.celsius) return last[key]
  const i = sorted.findIndex((v) => v.celsius >= celsius)
  const a = at(sorted, i - 1)
  const b = at(sorted, i)
  const part = (celsius - a.celsius) / (b.celsius - a.celsius)
  return a[key] + part * (b[key] - a[key])
}
