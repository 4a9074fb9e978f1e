import { type OutOfUse, outOfUseWords } from '../records/out-of-use.ts'
import { type Check, type PreviewSource, REGISTER, stop, warning } from './preview-check.ts'

interface Entry {
  readonly id: string
  readonly name: string
  readonly outOfUse?: OutOfUse | undefined
}

/** What the bench needs and cannot have tonight: out of use, or at work on another bench of the laboratory. */
export function availableChecks({ bench, register, elsewhere = {} }: PreviewSource): Check[] {
  const enabled = bench.channels.filter((channel) => channel.enabled)
  const needed = new Set([
    ...enabled.map(({ thermometer }) => thermometer),
    ...enabled.map(({ reference }) => (reference?.kind === 'resistor' ? reference.resistor : undefined)),
    ...enabled.map((channel) => bench.instruments.find(({ id }) => id === channel.instrument)?.register),
  ])
  const entries: readonly Entry[] = [...register.thermometers, ...register.resistors, ...register.instruments]
  return entries
    .filter(({ id }) => needed.has(id))
    .flatMap(({ id, name, outOfUse }) => [
      ...(outOfUse
        ? [
            stop(
              `out-of-use-${id}`,
              outOfUseWords(name, outOfUse),
              'Use another one, or enter in the register that it is back.',
              REGISTER,
            ),
          ]
        : []),
      ...(elsewhere[id] === undefined
        ? []
        : [
            warning(
              `elsewhere-${id}`,
              `${name} is ${elsewhere[id]}.`,
              'Wait until it is free and has cooled, or take it on if that is no longer so.',
            ),
          ]),
    ])
}
