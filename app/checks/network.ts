import { first } from '../base/lists.ts'
import { said } from '../messages/said.ts'
import { ComparisonError } from '../results/uncertainty-error.ts'

/**
 * A network of some resistors of a small set: one alone, several in series, several in parallel, or parts in series that
 * are themselves networks.
 */
export type Network =
  | { readonly kind: 'one'; readonly resistor: string }
  | { readonly kind: 'series'; readonly parts: readonly Network[] }
  | { readonly kind: 'parallel'; readonly parts: readonly Network[] }

/** 'a + b', 'a || (b + c)': as it is written on the sheet. */
export function networkWords(network: Network): string {
  if (network.kind === 'one') return network.resistor
  const sign = network.kind === 'series' ? ' + ' : ' || '
  const words = network.parts.map((p) => (p.kind === 'one' ? p.resistor : `(${networkWords(p)})`))
  return words.join(sign)
}

/** Value of a network and its derivative by each resistor, in units of the bridge's reference. */
export function networkValue(
  network: Network,
  values: Readonly<Record<string, number>>,
): { value: number; gradient: Readonly<Record<string, number>> } {
  if (network.kind === 'one') {
    const value = values[network.resistor]
    if (value === undefined || !(value > 0)) {
      throw new ComparisonError('bad-input', said('resistor-without-start', { resistor: network.resistor }), {
        resistor: network.resistor,
      })
    }
    return { value, gradient: { [network.resistor]: 1 } }
  }
  const parts = network.parts.map((part) => networkValue(part, values))
  const gradient: Record<string, number> = {}
  if (network.kind === 'series') {
    for (const part of parts) {
      for (const [name, d] of Object.entries(part.gradient)) gradient[name] = (gradient[name] ?? 0) + d
    }
    return { value: parts.reduce((sum, p) => sum + p.value, 0), gradient }
  }
  const value = 1 / parts.reduce((sum, p) => sum + 1 / p.value, 0)
  for (const part of parts) {
    const weight = (value / part.value) ** 2
    for (const [name, d] of Object.entries(part.gradient)) gradient[name] = (gradient[name] ?? 0) + weight * d
  }
  return { value, gradient }
}

/** Every resistor a network has, once for each time it has it. */
export function resistorsOf(network: Network): string[] {
  return network.kind === 'one' ? [network.resistor] : network.parts.flatMap(resistorsOf)
}

/** Every way to use some of a few resistors: each alone, and each set of two or more in series and in parallel. */
export function allNetworks(names: readonly string[]): Network[] {
  const networks: Network[] = []
  for (let mask = 1; mask < 1 << names.length; mask++) {
    const parts = names.flatMap((resistor, i): Network[] =>
      mask & (1 << i) ? [{ kind: 'one', resistor }] : [],
    )
    if (parts.length === 1) networks.push(first(parts))
    else networks.push({ kind: 'series', parts }, { kind: 'parallel', parts })
  }
  return networks
}
