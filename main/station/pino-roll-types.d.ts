/** pino-roll ships no types; what is used of it here. */
declare module 'pino-roll' {
  import type { SonicBoom } from 'sonic-boom'

  export default function build(options: {
    file: string
    extension?: string
    size?: string | number
    frequency?: 'daily' | 'hourly' | number
    limit?: { count: number; removeOtherLogFiles?: boolean }
    mkdir?: boolean
    mode?: number
  }): Promise<SonicBoom>
}
