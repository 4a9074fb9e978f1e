import type { Thermometer } from './register.ts'

/**
 * Whether a thermometer of the register is the one that an owner sends under a serial number. Makers number from 1 each: the same
 * number at another owner is another thermometer. One whose owner nobody stated is taken for it.
 */
export const isSameThermometer = (
  known: Pick<Thermometer, 'serial' | 'owner'>,
  serial: string,
  owner: string,
): boolean => serial !== '' && known.serial === serial && (known.owner === '' || known.owner === owner)
