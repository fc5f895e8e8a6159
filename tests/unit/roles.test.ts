import { describe, expect, it } from 'vitest'
import {
  admitted,
  callRefusal,
  inputRefusal,
  isOpenToAll,
  isProcedure,
  mayCall,
  namesDiskPath,
} from '#core/people/roles.ts'
import { unitsAsked, unitsRefusal } from '#core/people/units-asked.ts'
import { roles } from '#core/words/roles.ts'
import { type InputShape, procedureList, shapeOf } from '#tests/api/procedure-list.ts'

const names = procedureList.map(({ name }) => name).filter(isProcedure)

/** Each way to a part of an input, with what is there. */
function parts(shape: InputShape, at: readonly string[] = []): { at: readonly string[]; shape: InputShape }[] {
  return [
    { at, shape },
    ...Object.entries(shape.properties ?? {}).flatMap(([name, part]) => parts(part, [...at, name])),
    ...(shape.items ? parts(shape.items, [...at, '[]']) : []),
    ...[...(shape.anyOf ?? []), ...(shape.oneOf ?? []), ...(shape.allOf ?? [])].flatMap((part) => parts(part, at)),
  ]
}

describe('the table of roles', () => {
  it('has every procedure of the contract, and no other', () => {
    expect(Object.keys(admitted).toSorted()).toEqual(procedureList.map(({ name }) => name).toSorted())
  })

  it('lets whoever comes do no more than come in', () => {
    expect(names.filter(isOpenToAll)).toEqual([
      'people.standing',
      'people.signIn',
      'people.passkeyChallenge',
      'people.signInByPasskey',
      'people.invitation',
      'people.accept',
    ])
  })

  it('keeps whole files, restoring and emptying to the house machine', () => {
    expect(names.filter((name) => admitted[name] === 'house machine')).toEqual(
      [
        'about.supportBundle',
        'file.open',
        'file.look',
        'file.openDemo',
        'folder.writeOut',
        'copies.restore',
        'copies.startEmpty',
        'places.list',
        'places.allow',
        'places.pick',
        'places.takeBack',
        'safekeeping.chooseSecond',
        'house.share',
        'house.unshare',
      ].toSorted((a, b) => names.indexOf(a as never) - names.indexOf(b as never)),
    )
  })

  it('lets a manager do whatever is not the house machine’s, and the owner save nothing but notes', () => {
    expect(names.filter((name) => admitted[name] !== 'house machine' && !mayCall('manager', name))).toEqual([])
    const saves = procedureList.filter(({ input }) => input && shapeOf(input).properties?.['by'] !== undefined)
    expect(saves.length).toBeGreaterThan(25)
    expect(saves.map(({ name }) => name).filter((name) => isProcedure(name) && mayCall('owner', name))).toEqual([
      'log.undo',
      // Keeps nothing: it tells that a form is open.
      'desk.present',
      'heavy.note',
    ])
  })

  it('says who does what a role may not, in a sentence', () => {
    expect(callRefusal('driver', 'houseRules.change')).toBe(
      'You are signed in as a driver; this is done by a manager. Nothing was changed.',
    )
    expect(callRefusal('owner', 'weigh.save')).toBe(
      'You are signed in as the owner; this is done by a driver, the counter or a manager. Nothing was changed.',
    )
    expect(callRefusal('manager', 'file.open')).toBe('This is done on the house machine itself. Nothing was changed.')
    for (const role of roles)
      for (const name of names) expect(callRefusal(role, name) === undefined).toBe(mayCall(role, name))
  })
})

describe('what is asked of a procedure', () => {
  it('names no path of the house machine’s disk: every place in the contract that could is looked at', () => {
    const withPath = procedureList.flatMap(({ name, input }) =>
      input ? parts(shapeOf(input)).flatMap(({ at, shape }) => (shape.format === 'path' ? [{ name, at }] : [])) : [],
    )
    expect([...new Set(withPath.map(({ name }) => name))]).toEqual(
      [
        'file.open',
        'file.look',
        'folder.bringIn',
        'folder.writeOut',
        'copies.restore',
        'foreign.preview',
        'foreign.bringIn',
        'heavy.export',
        'places.allow',
        'places.pick',
        'places.takeBack',
        'safekeeping.chooseSecond',
      ].toSorted((a, b) => names.indexOf(a as never) - names.indexOf(b as never)),
    )
    for (const { name, at } of withPath) {
      const input = at.reduceRight<unknown>((inner, key) => ({ [key]: inner }), '/srv/fleet')
      expect([name, namesDiskPath(input)]).toEqual([name, true])
      if (isProcedure(name)) expect(inputRefusal('manager', name, input)).toContain('house machine')
    }
  })

  it('has the name of whoever saves in one place, where it can be written over', () => {
    const deep = procedureList.flatMap(({ name, input }) =>
      input ? parts(shapeOf(input)).flatMap(({ at }) => (at.at(-1) === 'by' && at.length > 1 ? [name] : [])) : [],
    )
    expect(deep).toEqual([])
  })

  it('is read for its units in every procedure that a driver may call', () => {
    for (const name of names.filter((each) => mayCall('driver', each)))
      expect([
        name,
        unitsAsked(name, { units: ['A'], unit: 'A', ticketId: 1, kind: 'ticket', id: 1 }).about,
      ]).not.toEqual([name, 'what no driver may ask'])
    for (const name of names.filter((each) => !mayCall('driver', each)))
      expect([name, unitsAsked(name, {}).about]).toEqual([name, 'what no driver may ask'])
  })

  it('names units that are given, or is refused with those that are', () => {
    expect(unitsRefusal(['T-101', 'V-201'], ['V-201', 'T-101'])).toBeUndefined()
    expect(unitsRefusal(['T-101'], ['T-101', 'V-201'])).toBe(
      'V-201 is not given to you; yours are T-101. A manager gives units on the People page.',
    )
    expect(unitsRefusal([], ['t-101'])).toContain('no unit is given to you yet')
  })

  it('keeps the shop to sensors, mounts and work, and a driver from calibrating', () => {
    expect(inputRefusal('shop', 'fleet.save', { subject: 'unit' })).toContain('The shop saves')
    expect(inputRefusal('shop', 'fleet.save', { subject: 'event' })).toBeUndefined()
    expect(inputRefusal('manager', 'fleet.save', { subject: 'unit' })).toBeUndefined()
    expect(inputRefusal('driver', 'weighIn.save', { calibrate: [{}] })).toContain('at the counter')
    expect(inputRefusal('driver', 'weighIn.save', { calibrate: [] })).toBeUndefined()
  })
})
