"""Exact solver for multiple-choice knapsack covers with two costs in order, the k best of them included.

There are item classes i with m_i items each. An item of class i takes at most one of its alternatives j, which has a
width w_ij and the costs c_ij and d_ij. With x_ij the number of items of class i that take alternative j:

    minimize, in this order    sum c_ij x_ij,  then  sum d_ij x_ij
    subject to                 sum w_ij x_ij >= b        (= b where the problem is equality-constrained)
                               sum_j x_ij <= m_i         for each item class i
                               x_ij >= 0 and whole

"Width" is what the literature calls weight. One item may take a continuous alternative k: it adds a_k and a whole
width u, what is missing to b or l_k where less is missing, if that is at most h_k; its costs are functions of u.

Solutions differ where their item-set signatures do: how many items of each class they take. Of one signature only the
cheapest solution counts, and the k best are those of the k cheapest signatures.

>>> import numpy as np
>>> from inventory.solver.problem import Alternatives, Problem
>>> from inventory.solver.search import best_solutions
>>> row, number, adds, first, second = np.array([(0, 1, 30, 5, 1), (0, 2, 60, 8, 1), (1, 1, 45, 6, 1)]).T
>>> problem = Problem(100, Alternatives(row, number, adds, first, second), multiplicity=np.array([1, 2]))
>>> [best] = best_solutions(problem, 1).solutions
>>> best.cost, sorted((each.row, each.alternative) for each in best.selections)
((14, 2), [(0, 2), (1, 1)])

What is exact: widths, costs and bounds are 64-bit whole numbers throughout. Floats choose the Lagrangian multipliers
only, and every multiplier gives a valid lower bound. A result with `proven` is optimal; else its lower bound holds.
Work is counted, not timed, so the same problem has the same answer on every machine.

Limits: targets below 2^34, and both costs of a solution joined in one number below 2^57. Beyond that the second cost is
rounded and nothing is called proven. The problem is NP-hard: a hard instance ends at the work limit, unproven.

The modules, in the order in which a search uses them:

- `problem`: instances and solutions. `runs`: helpers for sorted columns.
- `search`: the entry point, `best_solutions`. `branch_and_bound`: several problems that share items.
- `presolve`, `greedy`: first incumbents and the cutoff.
- `lagrangian`, `multipliers`, `cardinality`, `reduction`: lower bounds and reduced-cost fixing.
- `local_search`: better incumbents near the relaxed solution.
- `core_problem`, `k_best`, `solution_pool`: what is left to decide, and the k best solutions of it.
- `dynamic_program`, `states`: lists of Pareto-optimal partial solutions.
- `meet_in_the_middle`: inequality-constrained sums. `equality`: equality-constrained sums. `continuous`: sums with a
  continuous item.

The package imports numpy and the standard library only: no other package of the project, no clock, no random numbers,
no files. Nothing in it depends on wood.
"""
