import type { Reporter, TestCase } from 'vitest/node'

/**
 * Names every test that passed only when it was tried again. Such a test is no reason to refuse a change, since a busy
 * machine can do it, and is a defect of the test or of the product all the same: it must not go by unseen.
 */
export default class SecondGo implements Reporter {
  readonly #names: string[] = []

  onTestCaseResult(test: TestCase): void {
    if (test.diagnostic()?.flaky)
      this.#names.push(
        `${test.module.relativeModuleId}: ${test.fullName}\n    ${test.result().errors?.[0]?.message ?? ''}`,
      )
  }

  onTestRunEnd(): void {
    if (this.#names.length === 0) return
    console.log(`\nPassed only when tried again, and to be mended (${this.#names.length}):`)
    for (const name of this.#names) console.log(`  ${name}`)
  }
}
