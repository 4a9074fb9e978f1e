import { ScpiBath } from './scpi-bath.ts'

/** Bath controller, IEEE 488.2 and SCPI-99 throughout. */
export class Tb2 extends ScpiBath {
  readonly profile = 'lab-tb-2'
  protected readonly model = 'TB-2'
  protected readonly firmware = '1.1'
}
