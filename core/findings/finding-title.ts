import type { FindingCode } from '#core/findings/finding.ts'
import { phrase } from '#core/words/phrase.ts'

const titles: Readonly<Record<FindingCode, () => string>> = {
  'no-calibration': () => phrase('No calibration'),
  'event-since-calibration': () => phrase('Event since calibration'),
  'checks-drifting': () => phrase('Checks drifting'),
  'check-missed': () => phrase('Check missed'),
  'points-disagree': () => phrase('Points disagree'),
  'slope-implausible': () => phrase('Slope implausible'),
  'line-unlike-family': () => phrase('Line unlike family'),
  'altitude-uncorrected': () => phrase('Altitude uncorrected'),
  'sensor-silent': () => phrase('Sensor silent'),
  'short-span': () => phrase('Short span'),
  'age-over-limit': () => phrase('Age over limit'),
  'uncertainty-over-tolerance': () => phrase('Uncertainty over tolerance'),
  'wrong-pressure-unit': () => phrase('Wrong pressure unit'),
  'groups-swapped': () => phrase('Groups swapped'),
  'digits-transposed': () => phrase('Digits transposed'),
  'line-moved': () => phrase('Line moved'),
  'side-imbalance': () => phrase('Side imbalance'),
  'scale-biased': () => phrase('Scale biased'),
  'ticket-sum-mismatch': () => phrase('Ticket sum mismatch'),
  'battery-overdue': () => phrase('Battery overdue'),
  'battery-due': () => phrase('Battery due'),
  'age-near-limit': () => phrase('Age near limit'),
  'lift-state-mismatch': () => phrase('Lift state mismatch'),
  'one-circuit-read': () => phrase('One circuit read'),
  'two-point-line': () => phrase('Two point line'),
  'follows-weather': () => phrase('Follows weather'),
}

/** What a finding is called on screens and papers; its code is the command line's. */
export const findingTitle = (code: FindingCode): string => titles[code]()
