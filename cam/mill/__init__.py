"""The planning of the mill's share: the tapered winding square, the cross hole, and the thread of its screw."""
