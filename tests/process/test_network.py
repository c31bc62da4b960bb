"""Tests of networks of nodes and streams."""

import numpy as np
import pytest

from logbook.process.network import Network, NetworkError, Node, Stream

PRESS = Node("press", "Press")


def test_the_incidence_follows_the_direction_of_the_streams():
    """+1 where a stream enters, -1 where it leaves, nothing for the outside."""
    two = Network(
        (PRESS, Node("tank", "Tank")),
        (
            Stream("seed", "Seed", None, "press"),
            Stream("oil", "Oil", "press", "tank"),
            Stream("cake", "Cake", "press", None),
            Stream("sold", "Sold", "tank", None),
        ),
    )
    assert two.incidence.tolist() == [[1, -1, -1, 0], [0, 1, 0, -1]]
    assert two.place("cake") == 2
    found = two.vector({"oil": 3.0})
    assert found[1] == 3.0
    assert np.isnan(found[[0, 2, 3]]).all()
    with pytest.raises(KeyError, match="no stream 'hulls'"):
        two.vector({"hulls": 1.0})


def test_components_come_in_order_of_first_mention():
    """Each once."""
    net = Network(
        (PRESS,),
        (
            Stream("seed", "Seed", None, "press", ("oil", "water")),
            Stream("cake", "Cake", "press", None, ("water", "solvent", "oil")),
        ),
    )
    assert net.components == ("oil", "water", "solvent")


@pytest.mark.parametrize(
    ("nodes", "streams", "said"),
    [
        ((), (), "at least one node"),
        ((PRESS, PRESS), (Stream("a", "A", None, "press"),), "node 'press' is there 2 times"),
        (
            (PRESS,),
            (Stream("a", "A", None, "press"), Stream("a", "A", "press", None)),
            "stream 'a' is there 2 times",
        ),
        ((PRESS,), (Stream("a", "A", None, "pres"),), "ends at 'pres', which is no node"),
        ((PRESS,), (Stream("a", "A", "pres", None),), "starts at 'pres', which is no node"),
        ((PRESS,), (Stream("a", "A", None, None),), "same place"),
        ((PRESS,), (Stream("a", "A", "press", "press"),), "same place"),
        ((PRESS,), (Stream("a", "A", None, "press"),), "nothing flows out of node 'press'"),
        ((PRESS,), (Stream("a", "A", "press", None),), "nothing flows into node 'press'"),
        (
            (PRESS,),
            (Stream("a", "A", None, "press", ("oil", "oil")),),
            "names a component twice",
        ),
        (
            (PRESS,),
            (Stream("a", "A", None, "press", closed=True),),
            "closed but has no components",
        ),
    ],
)
def test_a_network_that_cannot_be_meant_names_its_fault(nodes, streams, said):
    """In words, with the key."""
    with pytest.raises(NetworkError, match=said):
        Network(nodes, streams)


def test_all_faults_are_told_at_once():
    """Nobody mends one to meet the next."""
    with pytest.raises(NetworkError) as caught:
        Network((PRESS,), (Stream("a", "A", None, "x"), Stream("b", "B", "y", "press")))
    assert len(caught.value.faults) == 3
